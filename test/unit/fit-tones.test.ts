import { beforeAll, describe, expect, test } from 'vitest';
import { linearRgbToLab } from '../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { Cancelled } from '../../src/base/stop.ts';
import { type FitTonesOptions, type FittedTones, fitTones } from '../../src/burn/fit-tones.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { burnToneScale } from '../../src/burn/tone-scale.ts';
import { fitRising } from '../../src/image/repair/fade.ts';
import { createToneCurve } from '../../src/image/tone.ts';
import { intentCurve } from '../../src/image/tone-intent.ts';
import { createPiece, NEUTRAL_TONE } from '../../src/piece/defaults.ts';
import { type Pass, type Piece, toneSchema } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

/** Equal steps of the photo come out even to ±1.5 L* (the aim of the "fit tones" button). */
const EVEN = 1.5;

const piece = createPiece('', '');
const withPass = (pass: Partial<Pass>, base: Piece = piece): Piece => ({
  ...base,
  passes: [{ ...base.passes[0], ...pass }],
});
/** Bare lime wood: the light end burns least. */
const bare = withPass({ lightEndPower: 0.06, darkEndPower: 0.4 }, { ...piece, stack: { ...piece.stack, coats: [] } });

let runner: SwathRunner;
const pipeline = createProofPipeline();
const fitFor = (of: Piece, options: Partial<FitTonesOptions> = {}): Promise<FittedTones> =>
  fitTones(of, pipeline.appearance(of), runner, options);
const gaps = (steps: readonly number[]) => steps.slice(1).map((value, i) => value - steps[i]);

/** L* of `tones` even patches through a curve. */
async function lightnesses(of: Piece, curve: [number, number][], tones: number, patchDots: number): Promise<number[]> {
  const toned = { ...of, picture: { ...of.picture, tone: { ...NEUTRAL_TONE, curve } } };
  const { rgb } = await burnToneScale(toned, pipeline.appearance(of), runner, [], { tones, films: [1], patchDots });
  return Array.from({ length: tones }, (_, i) => linearRgbToLab([rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]])[0]);
}

describe('fitTones', () => {
  beforeAll(async () => {
    runner = await cpuRunner();
  });

  test.each<[string, Piece, number?, number?]>([
    // Stucki's dots lock into patterns near three quarters: patches of 48 and of 96 dots lie up to 0.62 L* apart.
    ['the default piece', piece, EVEN, 0.7],
    ['blue noise', withPass({ screen: 'blue-noise' })],
    ['continuous tone', withPass({ screen: 'continuous', darkEndPower: 0.4, lightEndPower: 0.66 })],
    ['bare wood', bare],
    // The appearance table of bare wood has 24 rows of excess dose, up to 5 L* apart: ±1.1 measured, by the luck of the rows between.
    ['bare wood, continuous tone', withPass({ screen: 'continuous' }, bare)],
  ])('%s: 17 equal steps of the photo are equal steps of lightness', async (_, of, gapWithin = EVEN, again96 = 0.4) => {
    const fitted = await fitFor(of);
    const { curve, steps, darkest, lightest } = fitted;
    expect(lightest - darkest).toBeGreaterThan(40);
    expect(toneSchema.safeParse({ ...NEUTRAL_TONE, curve }).success).toBe(true);
    expect(curve).toHaveLength(17);
    expect([curve[0][1], curve[16][1]]).toEqual([0, 1]);
    // Burned again, on patches of another size than the fit measured.
    const again = await lightnesses(of, curve, 17, 96);
    again.forEach((value, i) => {
      expect(Math.abs(value - (darkest + ((lightest - darkest) * i) / 16))).toBeLessThan(EVEN);
      expect(Math.abs(value - steps[i])).toBeLessThan(again96);
    });
    for (const gap of gaps(again)) expect(Math.abs(gap - (lightest - darkest) / 16)).toBeLessThan(gapWithin);
    expect(fitted.unevenness).toBeCloseTo(Math.max(...steps.map((v, i) => Math.abs(v - fitted.wanted[i]))), 12);
  });

  test('a clustered dot comes as near as its 64 tones allow', async () => {
    const of = withPass({ screen: 'clustered-dot' });
    const fitted = await fitFor(of);
    const tones = await lightnesses(of, [], 65, 48);
    fitted.wanted.forEach((wanted, i) => {
      const nearest = Math.min(...tones.map((value) => Math.abs(value - wanted)));
      expect(Math.abs(fitted.steps[i] - wanted)).toBeLessThan(nearest + 0.2);
    });
    for (const gap of gaps(fitted.steps)) expect(gap).toBeGreaterThan(0);
  });

  test('continuous tone over the default powers comes as near as 255 levels of power allow: 1.15 L* measured', async () => {
    // The default powers span the whole range although the coat clears between 0.46 and 0.60 of full power: there one level
    // makes up to 3.3 L*. Narrower powers do better (above).
    const of = withPass({ screen: 'continuous' });
    const fitted = await fitFor(of);
    const levels = await lightnesses(of, [], 256, 10);
    fitted.wanted.forEach((wanted, i) => {
      const nearest = Math.min(...levels.map((value) => Math.abs(value - wanted)));
      expect(Math.abs(fitted.steps[i] - wanted)).toBeLessThan(nearest + 0.5);
    });
    expect(fitted.unevenness).toBeLessThan(EVEN);
  });

  test('a grey ramp through preparation and proof is even too', async () => {
    const side = 40;
    const plain = flatFilm(plainPiece(17 * side, { screen: 'blue-noise' }));
    const { curve, darkest, lightest } = await fitFor(plain);
    const ramp = pictureOf(17 * side, side, (x) => {
      const lightness = Math.floor(x / side) / 16;
      return lightness <= 0.08 ? (lightness * 2700) / 24389 : ((lightness + 0.16) / 1.16) ** 3;
    });
    const of = { ...plain, picture: { ...plain.picture, tone: { ...NEUTRAL_TONE, curve } } };
    const { color, width } = await burn(of, ramp, runner);
    const linear = srgbDecodingTable(8);
    for (let step = 0; step < 17; step++) {
      const sum: [number, number, number] = [0, 0, 0];
      for (let y = 4; y < side - 4; y++) {
        for (let x = step * side + 4; x < (step + 1) * side - 4; x++) {
          for (let k = 0; k < 3; k++) sum[k] += linear[color[4 * (y * width + x) + k]] / (side - 8) ** 2;
        }
      }
      const wanted = darkest + ((lightest - darkest) * step) / 16;
      expect(Math.abs(linearRgbToLab(sum)[0] - wanted)).toBeLessThan(EVEN);
    }
  });

  test.each(['faces', 'highlights', 'true'] as const)(
    'and the intent %s lays the photo on them as it says',
    async (intent) => {
      const { curve, darkest, lightest } = await fitFor(piece);
      const points = intentCurve(intent, { darkest, lightest });
      const toned = { ...piece, picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, intent: points, curve } } };
      expect(toneSchema.safeParse(toned.picture.tone).success).toBe(true);
      const wanted = createToneCurve({ ...NEUTRAL_TONE, intent: points });
      const { rgb, tones } = await burnToneScale(toned, pipeline.appearance(piece), runner, [], {
        tones: 17,
        films: [1],
        patchDots: 48,
      });
      tones.forEach((tone, i) => {
        const value = linearRgbToLab([rgb[3 * i], rgb[3 * i + 1], rgb[3 * i + 2]])[0];
        expect(Math.abs(value - (darkest + (lightest - darkest) * wanted(tone)))).toBeLessThan(2 * EVEN);
      });
    },
  );

  test('burning the curve and mending it makes it evener than the first guess', async () => {
    const dotted = withPass({ screen: 'blue-noise' });
    const guess = await fitFor(dotted, { rounds: 0 });
    const mended = await fitFor(dotted, { rounds: 2 });
    expect(mended.unevenness).toBeLessThan(0.75 * guess.unevenness);
  });

  test('the result does not depend on the tones that the piece has, and powers the wrong way round give a falling curve', async () => {
    const straight = {
      ...piece,
      picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, exposureEv: 1, contrast: 0.5 } },
    };
    expect(await fitFor(straight)).toEqual(await fitFor(piece));
    const swapped = await fitFor(withPass({ lightEndPower: 0.08, darkEndPower: 0.85, screen: 'blue-noise' }));
    expect([swapped.curve[0][1], swapped.curve[16][1]]).toEqual([1, 0]);
    for (const gap of gaps(swapped.steps)) expect(gap).toBeGreaterThan(0);
    expect(swapped.unevenness).toBeLessThan(EVEN);
  });

  test('can be stopped', async () => {
    await expect(fitFor(piece, { signal: AbortSignal.abort(new Cancelled()) })).rejects.toThrow('cancelled');
  });
});

test('fitRising leaves what rises alone and puts falling neighbours at their mean', () => {
  expect(fitRising([1, 2, 2, 5])).toEqual([1, 2, 2, 5]);
  expect(fitRising([1, 3, 2, 4])).toEqual([1, 2.5, 2.5, 4]);
  expect(fitRising([4, 2, 0])).toEqual([2, 2, 2]);
  expect(fitRising([])).toEqual([]);
});
