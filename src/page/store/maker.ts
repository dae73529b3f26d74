import { create } from 'zustand';
import { persist } from 'zustand/middleware';
import { InputError } from '../../base/input-error.ts';
import { isMark, MARK_PX, type Maker } from '../../base/maker.ts';
import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';
import type { Piece } from '../../piece/schema.ts';
import { dataAddress } from '../files/data-address.ts';
import { readPicture, shrinkPhoto } from '../files/photo-bytes.ts';

/** The maker's name and mark, given once and kept on this machine: for every piece, and part of none. */
export const useMakerStore = create<Maker>()(
  persist((): Maker => ({ name: '', mark: null }), {
    name: 'foreburn-maker',
    version: 1,
    merge: (kept, first) => {
      const { name, mark } = (kept ?? {}) as Partial<Maker>;
      return { name: typeof name === 'string' ? name : first.name, mark: isMark(mark) ? mark : first.mark };
    },
  }),
);

export const setMaker = useMakerStore.setState;

/** Who is named on the papers of a piece: whom the piece names, else who was named last. */
export const makerOf = ({ quote }: Piece, { name, mark }: Maker): Maker => ({ name: quote.workshop || name, mark });

/** Takes a picture as the mark, made small; what is transparent stays so. @throws InputError with the file's name and the reason. */
export async function openMark(file: File): Promise<void> {
  const { width, height, orientation } = inspectPicture(await readPicture(file), PAGE_FORMATS);
  const [wide, high] = orientation >= 5 ? [height, width] : [width, height];
  const scale = Math.min(1, MARK_PX.width / wide, MARK_PX.height / high);
  const bitmap = await shrinkPhoto(file, {
    imageOrientation: 'from-image',
    resizeWidth: Math.max(1, Math.round(scale * wide)),
    resizeHeight: Math.max(1, Math.round(scale * high)),
    resizeQuality: 'high',
  });
  if (!bitmap) throw new InputError(`${file.name} cannot be decoded: it may be damaged. Save it anew as a PNG.`);
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  canvas.getContext('2d')?.drawImage(bitmap, 0, 0);
  bitmap.close();
  setMaker({ mark: await dataAddress(await canvas.convertToBlob({ type: 'image/png' })) });
}
