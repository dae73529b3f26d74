import { fromHalfFloat, toHalfFloat } from '../../../base/half-float.ts';
import type { StripResult } from '../../../burn/strip-task.ts';
import { setPngResolution } from '../../../image/png-resolution.ts';
import type { PictureKind, ProbeReading } from './questions.ts';

/** Fields of one strip as half floats: enough for reading off, half the memory. */
interface KeptStrip {
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
  readonly strips: KeptStrip[];
}

const halves = (values: Float32Array): Uint16Array => Uint16Array.from(values, toHalfFloat);

export function keepStrip(proof: KeptProof, strip: StripResult): void {
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
