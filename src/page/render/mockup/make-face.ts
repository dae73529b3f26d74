import type { AskOptions } from '../../../base/remote/remote.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { StrippedSurface } from '../../../render/model/face-map.ts';
import { facePartsOf, faceWidthPx, shapeOf } from '../../../render/model/of-piece.ts';
import { shownPhoto } from '../../../render/model/wood-picture.ts';
import { useProofStore } from '../../burn/proof-store.ts';
import { photoBytes } from '../../files/photo-bytes.ts';
import { mockupWorker } from './mockup-client.ts';
import type { ShownSlab } from './mockup-store.ts';

/** Only what a worker needs of it. */
const bare = ({ width, height, pitchMm, strips }: StrippedSurface): StrippedSurface => ({
  width,
  height,
  pitchMm,
  strips,
});

/**
 * Has a face drawn: the unburned slab, with a burned picture on it or without.
 * @throws Error with words for people while the slab has not been laid out yet.
 */
export async function makeFace(
  key: string,
  piece: Piece,
  proof: StrippedSurface | null,
  mostPx: number,
  options?: AskOptions,
): Promise<ShownSlab> {
  const { ground } = useProofStore.getState();
  if (!ground) throw new Error('The slab is still being laid out: try again in a moment.');
  const slab = shapeOf(piece.slab);
  const { wood: _, ...parts } = facePartsOf(piece, bare(ground), proof && bare(proof), null);
  const place = shownPhoto(piece.slab);
  const bytes = place && photoBytes(place.file);
  const photo = place && bytes ? { bytes, place } : null;
  const gets = await mockupWorker.ask(
    'face',
    { key, slab, parts, photo, widthPx: faceWidthPx(piece, mostPx) },
    options,
  );
  return { key, slab, parts: gets.parts, look: { color: gets.color, slopes: gets.slopes } };
}
