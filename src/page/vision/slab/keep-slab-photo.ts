import * as z from '../../../base/zod.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { openDatabase } from '../../store/database.ts';
import { openSlabPhoto } from './slab-photo-actions.ts';
import { setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

const SAVED = 'slab-photo';
const SETTLE_MS = 400;

const points = (count: number) => z.array(z.tuple([z.number(), z.number()])).check(z.length(count));
const savedSchema = z.object({
  file: z.instanceof(File),
  marks: z.object({
    kind: z.enum(['card', 'rectangle', 'ruler']),
    points: z.object({ card: points(4), rectangle: points(4), ruler: points(2) }),
    widthMm: z.number(),
    heightMm: z.number(),
    lengthMm: z.number(),
    k1: z.number(),
  }),
});
type Saved = z.infer<typeof savedSchema>;

let begun = false;

/** Opens the photo and its marks of the visit before, then keeps them as they change. A browser that keeps nothing is no fault. */
export async function keepSlabPhoto(): Promise<void> {
  if (begun) return;
  begun = true;
  const value = await openDatabase()
    .then((database) => database.get('page', SAVED))
    .catch(() => undefined);
  const saved = savedSchema.safeParse(value).data;
  if (saved && !useSlabPhoto.getState().photo) {
    await openSlabPhoto(saved.file);
    setSlabPhoto(({ work, photo }) => (photo?.file === saved.file ? { work: { ...work, marks: saved.marks } } : {}));
  }
  let timer = 0;
  useSlabPhoto.subscribe(({ photo, work }, before) => {
    if (!photo || (photo === before.photo && work.marks === before.work.marks)) return;
    clearTimeout(timer);
    timer = window.setTimeout(
      () => inBackground(keep({ file: photo.file, marks: work.marks as Saved['marks'] })),
      SETTLE_MS,
    );
  });
}

const keep = (saved: Saved): Promise<unknown> =>
  openDatabase()
    .then((database) => database.put('page', saved, SAVED))
    .catch(() => {});
