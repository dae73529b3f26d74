import { fromHalfFloat, toHalfFloat } from '../../../base/half-float.ts';
import { lazily } from '../../../base/lazily.ts';
import { createCoarsePipeline } from '../../../burn/coarse.ts';
import { createGpuJsBackend } from '../../../burn/kernel/gpu-js.ts';
import { probeBackend } from '../../../burn/kernel/probe.ts';
import { createProcessorBackend } from '../../../burn/kernel/processor.ts';
import type { Photo } from '../../../burn/prepare.ts';
import { createProofPipeline } from '../../../burn/proof.ts';
import { createInlineRunner, createLastingRunner, createPoolRunner, type SwathRunner } from '../../../burn/runner.ts';
import type { SwathResult } from '../../../burn/swath-task.ts';
import { setPngResolution } from '../../../image/png-stream.ts';
import { openWorker } from '../../remote/worker-port.ts';
import type { PictureKind, ProbeReading } from './questions.ts';

/** What the proof worker and its answers share. */

/** Photographs by key, and what is kept of proofs by id. */
export const photos = new Map<string, Promise<Photo>>();

export const proofs = new Map<string, KeptProof>();

/** Short strips, so that a stale proof lets go of the processor soon. */
export const pipeline = createProofPipeline({ swathRows: 16 });

export const coarsePipeline = createCoarsePipeline();

/** For small burns, in this worker itself. */
export const quickRunner = lazily(async () => createInlineRunner(createProcessorBackend()));

/** For proofs and crops of them: all that the machine has. Several may burn at once. */
export const fullRunner = lazily(() => createLastingRunner(chooseRunner));

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

/** A card that was lost is tried once more. */
const MOST_LOSSES = 1;

/**
 * Picks what burns the strips: the graphics card if there is a real one, it reckons right on a small trial and was not lost again
 * and again, else a pool of workers on the processor. Says which and why.
 */
async function chooseRunner(losses: number): Promise<SwathRunner> {
  const card = losses > MOST_LOSSES ? LOST_CARD : describeCard();
  if (card.usable) {
    for (const mode of card.modes) {
      try {
        const backend = await createGpuJsBackend(mode, card.reason);
        const fault = await probeBackend(backend);
        if (!fault) return createInlineRunner(backend);
        card.reason = `${mode} failed its trial: ${fault}`;
        backend.dispose();
      } catch (error) {
        // What the driver says runs to thousands of signs of shader source: for the console, not for the maker.
        console.info(error);
        card.reason = `${mode} cannot be used here`;
      }
    }
  }
  const size = Math.max(1, Math.min(8, navigator.hardwareConcurrency || 2));
  return createPoolRunner(stripWorker, size, `${size} workers on the processor; ${card.reason}`);
}

interface Card {
  readonly usable: boolean;
  readonly modes: readonly ('webgpu' | 'webgl2')[];
  reason: string;
}

const LOST_CARD: Card = { usable: false, modes: [], reason: 'the graphics card failed while it computed' };

function describeCard(): Card {
  const gl = new OffscreenCanvas(1, 1).getContext('webgl2');
  if (!gl) return { usable: false, modes: [], reason: 'no WebGL 2 here' };
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const name = String(info ? gl.getParameter(info.UNMASKED_RENDERER_WEBGL) : gl.getParameter(gl.RENDERER));
  gl.getExtension('WEBGL_lose_context')?.loseContext();
  if (/swiftshader|llvmpipe|software|basic render/i.test(name)) {
    return { usable: false, modes: [], reason: 'graphics are drawn in software here' };
  }
  const modes = 'gpu' in navigator ? (['webgpu', 'webgl2'] as const) : (['webgl2'] as const);
  return { usable: true, modes, reason: name };
}

const stripWorker = openWorker(
  () => new Worker(new URL('./swath-worker.ts', import.meta.url), { type: 'module' }),
  'burns strips',
);

/** Fields of one strip as half floats: enough for reading off, half the memory. */
interface KeptSwath {
  readonly y0: number;
  readonly rows: number;
  readonly color: Uint8Array;
  readonly residueUm: readonly Uint16Array[];
  readonly woodDepthUm: Uint16Array;
  readonly excess: Uint16Array;
}

/** What the worker keeps of a proof, to answer the probe and to save pictures. */
export interface KeptProof {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly strips: KeptSwath[];
}

/** A plain loop: `from` with a function takes fifteen times as long. */
function halves(values: Float32Array): Uint16Array {
  const out = new Uint16Array(values.length);
  for (let i = 0; i < out.length; i++) out[i] = toHalfFloat(values[i]);
  return out;
}

export function keepSwath(proof: KeptProof, strip: SwathResult): void {
  if (!strip.color || !strip.fields) throw new Error('a strip to keep needs its surface and its fields');
  proof.strips.push({
    y0: strip.y0,
    rows: strip.rows,
    color: strip.color.slice(),
    residueUm: strip.fields.residueUm.map(halves),
    woodDepthUm: halves(strip.fields.woodDepthUm),
    excess: halves(strip.fields.excess),
  });
}

/** The cell at a place of the picture; null off it or where nothing has been computed yet. */
export function readProbe(proof: KeptProof, xMm: number, yMm: number): ProbeReading | null {
  const x = Math.floor(xMm / proof.pitchMm);
  const y = Math.floor(yMm / proof.pitchMm);
  const strip = proof.strips.find(({ y0, rows }) => y >= y0 && y < y0 + rows);
  if (!strip || x < 0 || x >= proof.width) return null;
  const at = (y - strip.y0) * proof.width + x;
  return {
    residueUm: strip.residueUm.map((values) => fromHalfFloat(values[at])),
    woodDepthUm: fromHalfFloat(strip.woodDepthUm[at]),
    excessJPerMm2: fromHalfFloat(strip.excess[at]),
    colorSrgb: [strip.color[4 * at], strip.color[4 * at + 1], strip.color[4 * at + 2]],
  };
}

/** The proof, or the map of its uncleared places, as a PNG that carries its size. */
export async function drawPicture(proof: KeptProof, which: PictureKind): Promise<Uint8Array> {
  const canvas = new OffscreenCanvas(proof.width, proof.height);
  const context = canvas.getContext('2d');
  if (!context) throw new Error('the browser has no memory left for the picture');
  for (const strip of proof.strips) {
    const pixels = new Uint8ClampedArray(strip.color);
    for (let i = 0; i < pixels.length; i += 4) {
      if (which === 'uncleared') pixels.fill(pixels[i + 3], i, i + 3);
      pixels[i + 3] = 255;
    }
    context.putImageData(new ImageData(pixels, proof.width, strip.rows), 0, strip.y0);
  }
  const blob = await canvas.convertToBlob({ type: 'image/png' });
  return setPngResolution(new Uint8Array(await blob.arrayBuffer()), 1 / proof.pitchMm);
}
