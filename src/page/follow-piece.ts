import type { Piece } from '../piece/schema.ts';
import { clearProof, openPhoto, orderProof } from './burn/proof-remote.ts';
import { inBackground } from './faults/lazy-part.tsx';
import { photoBytes } from './files/photo-bytes.ts';
import { BURN_NOTHING } from './store/board-rows.ts';
import { usePieceStore } from './store/piece-store.ts';

/** Orders a new proof whenever the piece or its photograph changes in what burns. */
export function followPiece(): void {
  let ordered: { piece: Piece; photoKey: string } | null = null;
  usePieceStore.subscribe(({ piece, photo }) => {
    if (!photo) {
      if (ordered) clearProof();
      ordered = null;
      return;
    }
    const photoKey = photo.key;
    if (ordered?.photoKey === photoKey && samePhysics(ordered.piece, piece)) return;
    ordered = { piece, photoKey };
    const bytes = photoBytes(photoKey);
    const order = () => {
      const now = usePieceStore.getState();
      if (now.photo?.key === photoKey) orderProof(now.piece, photoKey);
    };
    // A photograph that cannot be opened is told where the proof would be.
    inBackground((bytes ? openPhoto(photoKey, bytes) : Promise.resolve()).then(order, order));
  });
}

/** True if all of these are the same things, not only alike: pieces are never changed in place, so what is the same has not changed. */
function sameBut<Part extends object>(a: Part, b: Part, ...ignored: (keyof Part)[]): boolean {
  const names = new Set([...Object.keys(a), ...Object.keys(b)] as (keyof Part)[]);
  for (const name of ignored) names.delete(name);
  return [...names].every((name) => a[name] === b[name]);
}

/**
 * Whether two pieces burn alike. Name, quote, order and log burn nothing, nor does what the wood looks like on a photograph, where the slab lies,
 * or how programs are worded. Costs nothing, so that it can be asked at every movement of a slider.
 */
export const samePhysics = (a: Piece, b: Piece): boolean =>
  sameBut(a, b, ...BURN_NOTHING, 'slab', 'machine') &&
  sameBut(a.slab, b.slab, 'photo') &&
  sameBut(a.machine, b.machine, 'control') &&
  a.machine.control.correctRowOffset === b.machine.control.correctRowOffset;
