import { createCoarsePipeline } from '../../../burn/coarse.ts';
import type { Photo } from '../../../burn/prepare.ts';
import { createProofPipeline } from '../../../burn/proof.ts';
import { createInlineRunner, createPoolRunner, createRowReader, type SwathWork } from '../../../burn/runner.ts';
import type { SwathResult } from '../../../burn/swath-task.ts';
import { setPngResolution } from '../../../image/png-stream.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { createCardRunner } from '../card/card-runner.ts';
import type { PictureKind, ProbeReading, WireSwath } from './questions.ts';

/** What the proof worker and its answers share. */

/** Photographs by key, and what is kept of proofs by id. */
export const photos = new Map<string, Promise<Photo>>();

export const proofs = new Map<string, KeptProof>();

/** Short swaths, so that a stale proof lets go of the processor soon. */
export const pipeline = createProofPipeline({ swathRows: 16 });

export const coarsePipeline = createCoarsePipeline();

/** For small burns, in this worker itself. */
export const quickRunner = createInlineRunner();

const swathWorker = openWorker(
  () => new Worker(new URL('./swath-worker.ts', import.meta.url), { type: 'module' }),
  'computes the rows of proofs',
);

const workers = Math.max(1, globalThis.navigator?.hardwareConcurrency || 2);

/** For proofs and crops of them: all that the machine has. Several may burn at once. */
export const fullRunner = createCardRunner(
  createPoolRunner(swathWorker, workers, workers === 1 ? 'one worker' : `${workers} workers`),
);

// A card that cannot be had is no fault: the workers burn.
if (globalThis.navigator?.gpu) {
  import('../card/open-card.ts').then(({ offerCard }) => offerCard(fullRunner)).catch((error) => console.info(error));
}

/** @throws Error if the photograph is not open. */
export async function photoOf(key: string): Promise<Photo> {
  const photo = await photos.get(key);
  if (!photo) throw new Error('the photograph is not open any more; open it again');
  return photo;
}

/** @throws Error if nothing is kept of the proof. */
export function proofOf(id: string): KeptProof {
  const proof = proofs.get(id);
  if (!proof) throw new Error('this proof is not kept any more; compute it once more');
  return proof;
}

/** What the worker keeps of a proof, to answer the probe and to save pictures. */
export interface KeptProof {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly swaths: Pick<WireSwath, 'y0' | 'rows' | 'color'>[];
  /** Sees to it that all swaths are there; what stays on a card is fetched when it is wanted. @throws Cancelled. */
  complete: (signal?: AbortSignal) => Promise<void>;
  /** A row of cells with all that can be told of them; null until the proof is there. */
  row: ((y: number) => Promise<SwathResult>) | null;
}

export const keptProof = (size: Pick<KeptProof, 'width' | 'height' | 'pitchMm'>): KeptProof => ({
  ...size,
  swaths: [],
  complete: async () => {},
  row: null,
});

/** Keeps what a finished proof was burned from, so that rows of it, and swaths that have stayed on a card, can be had later. */
export function keepWork(proof: KeptProof, work: SwathWork, onSwath: (swath: SwathResult) => void): void {
  proof.row = createRowReader(fullRunner, work);
  if (proof.swaths.length > 0) return;
  let whole = false;
  proof.complete = async (signal) => {
    if (whole) return;
    proof.swaths.length = 0;
    await fullRunner.cellsOf(work, { signal, onSwath });
    whole = true;
  };
}

export function keepSwath(proof: KeptProof, { y0, rows, color }: SwathResult): void {
  if (!color) throw new Error('a swath to keep needs its surface');
  proof.swaths.push({ y0, rows, color: color.slice() });
}

/** The cell at a place of the picture; null off it or where nothing has been computed yet. */
export async function readProbe(proof: KeptProof, xMm: number, yMm: number): Promise<ProbeReading | null> {
  const x = Math.floor(xMm / proof.pitchMm);
  const y = Math.floor(yMm / proof.pitchMm);
  if (!proof.row || x < 0 || x >= proof.width || y < 0 || y >= proof.height) return null;
  const { color, fields } = await proof.row(y);
  if (!color || !fields) return null;
  return {
    residueUm: fields.residueUm.map((values) => values[x]),
    woodDepthUm: fields.woodDepthUm[x],
    excessJPerMm2: fields.excess[x],
    colorSrgb: [color[4 * x], color[4 * x + 1], color[4 * x + 2]],
  };
}

/** The proof, or the map of its uncleared places, as a PNG that carries its size. */
export async function drawPicture(proof: KeptProof, which: PictureKind): Promise<Uint8Array> {
  await proof.complete();
  const canvas = new OffscreenCanvas(proof.width, proof.height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  for (const swath of proof.swaths) {
    const pixels = new Uint8ClampedArray(swath.color);
    for (let i = 0; i < pixels.length; i += 4) {
      if (which === 'uncleared') pixels.fill(pixels[i + 3], i, i + 3);
      pixels[i + 3] = 255;
    }
    context.putImageData(new ImageData(pixels, proof.width, swath.rows), 0, swath.y0);
  }
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return setPngResolution(new Uint8Array(await blob.arrayBuffer()), 1 / proof.pitchMm);
}
