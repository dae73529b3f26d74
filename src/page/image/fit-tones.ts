import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Piece, Tone } from '../../piece/schema.ts';
import { ask } from '../burn/proof-remote.ts';
import type { TonesAnswer } from '../burn/worker/questions.ts';
import { usePieceStore } from '../store/piece-store.ts';

/** The tone curve with which equal steps of a photograph become equal steps on the piece's stack, found on computed patches. */
export const findTones = (piece: Piece, photoKey: string): Promise<TonesAnswer> => ask('tones', { piece, photoKey });

/** Tones made anew for a photograph: what was turned for another one goes, sharpening for the beam stays. */
export async function freshTones(piece: Piece, photoKey: string): Promise<Tone> {
  const { unsharpMask } = piece.picture.tone;
  const bare: Piece = { ...piece, picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, unsharpMask } } };
  const { curve } = await findTones(bare, photoKey);
  return { ...NEUTRAL_TONE, unsharpMask, curve };
}

/** Fits the tones of the piece that is open, as one step of undo; if something else is open by then it is left alone. */
export async function fitTonesAnew(): Promise<void> {
  const { piece, photo } = usePieceStore.getState();
  if (!photo) return;
  const tone = await freshTones(piece, photo.key);
  if (usePieceStore.getState().photo?.key !== photo.key) return;
  usePieceStore.getState().change((now) => ({ ...now, picture: { ...now.picture, tone } }));
}
