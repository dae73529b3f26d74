import type { Piece } from '../piece/schema.ts';
import { openPhoto, orderProof } from './burn/proof-client.ts';
import { samePhysics } from './burn/same-physics.ts';
import { inBackground } from './faults/tell-fault.ts';
import { photoBytes } from './files/photo-bytes.ts';
import { usePieceStore } from './store/piece-store.ts';

/** Orders a new proof whenever the piece or its photograph changes in what burns. */
export function followPiece(): void {
  let ordered: { piece: Piece; photoKey: string } | null = null;
  usePieceStore.subscribe(({ piece, photo }) => {
    if (!photo) return;
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
