import { pieceImages } from '../../piece/images.ts';
import type { PinnedProof } from '../burn/proof-store.ts';
import type { PieceState } from './piece-store.ts';

/** All of a piece that is kept: as it is, what undo and redo go to, and its pinned proofs. */
export interface Work {
  readonly state: PieceState;
  readonly past: readonly PieceState[];
  readonly future: readonly PieceState[];
  readonly pins: readonly PinnedProof[];
}

/** Names of all photographs and images that the work wants, now or after undo, redo or a look at a pin. */
export function wantedImages({ state, past, future, pins }: Work): ReadonlySet<string> {
  const names = new Set<string>();
  for (const { piece, photo } of [state, ...past, ...future]) {
    if (photo) names.add(photo.key);
    for (const name of pieceImages(piece)) names.add(name);
  }
  for (const { record } of pins) {
    names.add(record.photoKey);
    for (const name of pieceImages(record.piece)) names.add(name);
  }
  return names;
}
