import { join } from 'node:path';
import sharp from 'sharp';
import { encodeNpy } from '../base/npy.ts';
import type { Proof } from '../burn/proof.ts';
import type { StripResult } from '../burn/strip-task.ts';
import { setPngResolution } from '../image/png-resolution.ts';
import { powerAt } from '../physics/beam/source.ts';
import type { Piece } from '../piece/schema.ts';
import type { Outputs } from './outputs.ts';

/** Writes a proof's pictures and, where the strips carry them, its fields into a folder. */
export function createProofWriter(outputs: Outputs, folder: string) {
  async function writePng(name: string, data: Uint8Array, proof: Proof, channels: 1 | 3): Promise<void> {
    const { width, height, pitchMm } = proof.grid;
    const png = await sharp(data, { raw: { width, height, channels } })
      .toColourspace(channels === 1 ? 'b-w' : 'srgb')
      .png({ compressionLevel: 3 })
      .toBuffer();
    await outputs.write(join(folder, name), setPngResolution(png, 1 / pitchMm));
  }

  const writeNpy = (name: string, data: Float32Array, shape: [number, number]) =>
    outputs.write(join(folder, `${name}.npy`), encodeNpy(data, shape));

  async function writeFields(proof: Proof, piece: Piece, strips: readonly StripResult[]): Promise<void> {
    const { width, height } = proof.grid;
    const gather = (pick: (strip: StripResult) => Float32Array) => {
      const whole = new Float32Array(width * height);
      for (const strip of strips) whole.set(pick(strip), strip.y0 * width);
      return whole;
    };
    const shape: [number, number] = [height, width];
    for (let i = 0; i < piece.stack.coats.length; i++) {
      await writeNpy(
        `residue-${i}-um`,
        gather((strip) => strip.fields!.residueUm[i]),
        shape,
      );
    }
    await writeNpy(
      'wood-depth-um',
      gather((strip) => strip.fields!.woodDepthUm),
      shape,
    );
    await writeNpy(
      'excess-j-per-mm2',
      gather((strip) => strip.fields!.excess),
      shape,
    );
    await writeNpy('tone', proof.tone.lightness, shape);
    for (const [i, { levels, mask, raster }] of proof.screened.entries()) {
      const power = Float32Array.from(levels, (level, at) => (mask[at] === 0 ? 0 : powerAt(piece.passes[i], level)));
      await writeNpy(i === 0 ? 'power' : `power-${i + 1}`, power, [raster.rows, raster.columns]);
    }
  }

  return {
    async write(proof: Proof, piece: Piece, strips: readonly StripResult[]): Promise<void> {
      const { width, height } = proof.grid;
      const rgb = new Uint8Array(width * height * 3);
      const uncleared = new Uint8Array(width * height);
      for (const strip of strips) {
        const color = strip.color!;
        const start = strip.y0 * width;
        for (let i = 0; i < width * strip.rows; i++) {
          rgb[3 * (start + i)] = color[4 * i];
          rgb[3 * (start + i) + 1] = color[4 * i + 1];
          rgb[3 * (start + i) + 2] = color[4 * i + 2];
          uncleared[start + i] = color[4 * i + 3];
        }
      }
      await Promise.all([writePng('proof.png', rgb, proof, 3), writePng('uncleared.png', uncleared, proof, 1)]);
      if (strips[0]?.fields) await writeFields(proof, piece, strips);
    },
  };
}
