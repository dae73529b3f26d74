import { averageColors } from '../../image/average-colors.ts';
import type { Foretold } from '../../shop/summary.ts';
import { type ProofRecord, useProofStore } from '../burn/proof-store.ts';
import type { QuickLook } from '../burn/worker/questions.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { burnsKey, keepProof } from '../store/board-rows.ts';
import { openDatabase } from '../store/database.ts';
import { useKeepingStore } from '../store/keeping.ts';

/** From now on what a proof of the piece on the table told is kept beside the piece, for the board. */
export function keepProofs(): void {
  let kept: { record: ProofRecord; id: string } | null = null;
  const look = () => {
    const { current } = useProofStore.getState();
    const { id, forShow } = useKeepingStore.getState();
    const foretold = current && foretoldOf(current);
    if (!foretold || id === '' || forShow || (kept?.record === current && kept.id === id)) return;
    kept = { record: current, id };
    const { piece, photoKey, coarse } = current;
    const thumbnail = coarse ? smallPicture({ ...coarse, swath: coarse.swaths[0] }) : '';
    const keep = async () =>
      keepProof(await openDatabase(), { id, burns: burnsKey(piece, photoKey), foretold, thumbnail });
    // Storage that fails is told of where the piece is kept.
    inBackground(keep().catch(() => {}));
  };
  useProofStore.subscribe(look);
  useKeepingStore.subscribe(look);
}

/** Null until all of it is known. */
function foretoldOf({ status, result, sure, diagnosis }: ProofRecord): Foretold | null {
  if (status !== 'done' || !result || !sure || !diagnosis) return null;
  const passSeconds = result.passes.map(({ timeS }) => timeS);
  return { passSeconds, verdict: diagnosis.verdict, accepted: sure.accepted };
}

const SMALL_PX = 208;

/** A quick look as a small picture, a data URL. */
export function smallPicture({
  width,
  height,
  pitchMm,
  swath,
}: Pick<QuickLook, 'width' | 'height' | 'pitchMm'> & { swath: { color: Uint8Array } }): string {
  const scale = Math.min(1, SMALL_PX / Math.max(width, height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(width * scale));
  canvas.height = Math.max(1, Math.round(height * scale));
  const context = canvas.getContext('2d');
  if (!context) return '';
  const rows = { width, height, pitchMm, row: (y: number) => ({ data: swath.color, at: 4 * y * width }) };
  const pixels = averageColors(rows, canvas.width, canvas.height);
  context.putImageData(new ImageData(pixels, canvas.width, canvas.height), 0, 0);
  return canvas.toDataURL('image/jpeg', 0.82);
}
