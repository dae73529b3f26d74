import { get, set } from 'idb-keyval';
import type { SlabMarks } from './slab-marks.ts';
import { openSlabPhoto } from './slab-photo-actions.ts';
import { setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

const SAVED = 'foreburn-slab-photo';
const SETTLE_MS = 400;

interface Saved {
  readonly file: File;
  readonly marks: SlabMarks;
}

let begun = false;

/** Opens the photo and its marks of the visit before, then keeps them as they change. A browser that keeps nothing is no fault. */
export async function keepSlabPhoto(): Promise<void> {
  if (begun) return;
  begun = true;
  const saved = await get<Saved>(SAVED).catch(() => undefined);
  if (saved && !useSlabPhoto.getState().photo) {
    await openSlabPhoto(saved.file);
    setSlabPhoto(({ work, photo }) => (photo?.file === saved.file ? { work: { ...work, marks: saved.marks } } : {}));
  }
  let timer = 0;
  useSlabPhoto.subscribe(({ photo, work }, before) => {
    if (!photo || (photo === before.photo && work.marks === before.work.marks)) return;
    clearTimeout(timer);
    timer = window.setTimeout(() => {
      set(SAVED, { file: photo.file, marks: work.marks } satisfies Saved).catch(() => {});
    }, SETTLE_MS);
  });
}
