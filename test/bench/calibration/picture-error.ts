import { linearRgbToLab } from '../../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../../src/base/color/srgb.ts';
import type { SwathRunner } from '../../../src/burn/runner.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import { burn } from '../../helpers/burn.ts';
import { labOfSum } from '../../reference/finer-model/optics.ts';
import type { BurnedPicture, Workshop } from '../../reference/finer-model/workshop.ts';
import { FEED, PICTURE_AT, PITCH } from './blind-trial.ts';
import type { TestPicture } from './pictures.ts';

/** L* rms over all and over the light areas; null where the picture has none. */
export interface PictureError {
  readonly all: number;
  readonly light: number | null;
}

/** Dots along the side of a block in which light is averaged before it is compared: 0.3 mm are what an eye parts at arm's length and more. */
const BLOCK = 3;
/** Light areas: lightness of the prepared picture. */
const LIGHT = 0.9;

export const piecePasses = (
  piece: Piece,
  { screen }: TestPicture,
  ends: readonly (readonly [number, number])[],
  widthMm: number,
): Piece => ({
  ...piece,
  picture: { ...piece.picture, widthMm },
  passes: ends.map(([lightEndPower, darkEndPower]) => ({ ...piece.passes[0], screen, lightEndPower, darkEndPower })),
});

/** What the world makes of a picture: by the very dots that the job has. */
export async function burnInWorld(
  workshop: Workshop,
  piece: Piece,
  test: TestPicture,
  runner: SwathRunner,
): Promise<BurnedPicture> {
  const { proof } = await burn(piece, test.picture, runner);
  const { width, height } = proof.grid;
  const floor = piece.machine.source.firingFloor;
  const passes = proof.screened.map(({ levels, mask }, k) => {
    const { lightEndPower, darkEndPower } = piece.passes[k];
    const power = Float32Array.from(levels, (level, i) => {
      const set = darkEndPower + ((lightEndPower - darkEndPower) * level) / 255;
      return mask[i] === 0 || set < floor ? 0 : set;
    });
    return { power, feedMmPerS: FEED };
  });
  return workshop.picture(width, height, PITCH, passes, PICTURE_AT);
}

export async function pictureError(
  piece: Piece,
  test: TestPicture,
  truth: BurnedPicture,
  runner: SwathRunner,
): Promise<PictureError> {
  const { color, proof } = await burn(piece, test.picture, runner);
  const { width, height } = proof.grid;
  const table = srgbDecodingTable(8);
  let [all, count, light, lights] = [0, 0, 0, 0];
  for (let y = 0; y + BLOCK <= height; y += BLOCK) {
    for (let x = 0; x + BLOCK <= width; x += BLOCK) {
      const seen = [0, 0, 0];
      const said: [number, number, number] = [0, 0, 0];
      let tone = 0;
      for (let k = 0; k < BLOCK * BLOCK; k++) {
        const at = (y + Math.floor(k / BLOCK)) * width + x + (k % BLOCK);
        for (let c = 0; c < 3; c++) {
          seen[c] += truth.xyz[3 * at + c] / BLOCK ** 2;
          said[c] += table[color[4 * at + c]] / BLOCK ** 2;
        }
        tone += proof.tone.lightness[at] / BLOCK ** 2;
      }
      const off = (linearRgbToLab(said)[0] - labOfSum(seen)[0]) ** 2;
      all += off;
      count++;
      if (tone >= LIGHT) {
        light += off;
        lights++;
      }
    }
  }
  return { all: Math.sqrt(all / count), light: lights > 0 ? Math.sqrt(light / lights) : null };
}
