import { beforeAll, describe, expect, test } from 'vitest';
import { linearRgbToLab } from '../../src/base/color/lab.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { burnToneScale, TONE_SCALE_DEFAULTS, type ToneScale } from '../../src/burn/tone-scale.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const piece = createPiece('', '');
let runner: SwathRunner;
let scale: ToneScale;
const at = (tone: number, film: number): number => film * TONE_SCALE_DEFAULTS.tones + tone;
const lightness = (tone: number, film: number): number => {
  const i = 3 * at(tone, film);
  return linearRgbToLab([scale.rgb[i], scale.rgb[i + 1], scale.rgb[i + 2]])[0];
};

describe('the default piece’s tone scale', () => {
  beforeAll(async () => {
    runner = await cpuRunner();
    scale = await burnToneScale(piece, createProofPipeline().appearance(piece), runner);
  });

  test('has 17 tones on five films', () => {
    expect(scale.tones).toHaveLength(17);
    expect(scale.tones[0]).toBe(0);
    expect(scale.tones[16]).toBe(1);
    expect(scale.films).toEqual([0.7, 0.85, 1, 1.15, 1.3]);
    expect(scale.rgb).toHaveLength(3 * 17 * 5);
  });

  test('with its default tones it is about straight: equal steps of the photo are equal steps of lightness', () => {
    const low = lightness(0, 2);
    const high = lightness(16, 2);
    // From the dark coat to the open undercoat.
    expect(low).toBeLessThan(32);
    expect(high).toBeGreaterThan(82);
    let worst = 0;
    for (let tone = 0; tone <= 16; tone++) {
      worst = Math.max(worst, Math.abs(lightness(tone, 2) - (low + ((high - low) * tone) / 16)));
    }
    // Eight points of a curve, and patches of some 150 dots: a dot more or less in a patch is 0.7 % of its area, up to 1.2 L*.
    expect(worst).toBeLessThan(6);
  });

  test('lighter tones never come out darker, thicker films never lighter', async () => {
    // Large patches, so that a dot more or less by the screen's chance is 0.1 % of the area, at most 0.3 L* in the darks.
    const table = createProofPipeline().appearance(piece);
    const large = await burnToneScale(piece, table, runner, [], { tones: 9, films: [0.7, 1, 1.3], patchDots: 32 });
    const value = (tone: number, film: number): number => {
      const i = 3 * (film * 9 + tone);
      return linearRgbToLab([large.rgb[i], large.rgb[i + 1], large.rgb[i + 2]])[0];
    };
    for (let film = 0; film < 3; film++) {
      for (let tone = 0; tone < 9; tone++) {
        if (tone > 0) expect(value(tone, film)).toBeGreaterThan(value(tone - 1, film));
        // Not for the lightest tones: all coats are thin together, and a thin undercoat hides less.
        if (film > 0 && tone < 7) expect(value(tone, film)).toBeLessThan(value(tone, film - 1) + 0.5);
      }
    }
  });

  test('the darks are the unburned coat, the lights lie lower by about the coat', () => {
    const intact = linearRgbToLab(scale.intact as [number, number, number]);
    expect(Math.abs(lightness(0, 2) - intact[0])).toBeLessThan(1);
    expect(scale.heightUm[at(0, 2)]).toBeCloseTo(0, 1);
    expect(scale.heightUm[at(16, 2)]).toBeLessThan(-23);
    expect(scale.heightUm[at(16, 2)]).toBeGreaterThan(-35);
    // A thicker film stands higher.
    expect(scale.heightUm[at(0, 4)] - scale.heightUm[at(0, 2)]).toBeCloseTo(0.3 * 75, 0);
    expect(scale.uncleared[at(16, 2)]).toBeLessThan(0.05);
    expect(scale.scorch.every((value) => value >= 0 && value <= 1)).toBe(true);
  });

  test('is the same for every heading and does not see the slab’s own film', async () => {
    const table = createProofPipeline().appearance(piece);
    const turned = { ...piece, passes: [{ ...piece.passes[0], headingRad: 1 }] };
    const other = {
      ...turned,
      stack: {
        ...piece.stack,
        film: { shown: 'drawn' as const, seed: 99, slowScaleMm: 5, fineScaleMm: 0.5, found: null },
      },
    };
    expect((await burnToneScale(other, table, runner)).rgb).toEqual(scale.rgb);
  });

  test('margins are left out without a difference to what lies between them', async () => {
    const table = createProofPipeline().appearance(piece);
    const first = { ...piece.passes[0], rowOffsetErrorMm: 0.05, lightEndPower: 0.6, darkEndPower: 0.1 };
    // Dots that are not quite the cells' own, though nobody could see it: everything is burned, margins too.
    const dark = { ...first, rowPitchMm: first.rowPitchMm * (1 + 1e-7), lightEndPower: 0, darkEndPower: 0 };
    const options = { tones: 5, films: [0.8, 1, 1.25], patchDots: 6 };
    const without = await burnToneScale({ ...piece, passes: [first] }, table, runner, [15], options);
    const whole = await burnToneScale({ ...piece, passes: [first, dark] }, table, runner, [15], options);
    expect(without).toEqual(whole);
    expect(new Set(without.meanResidueUm).size).toBeGreaterThan(10);
  });

  test('a pass of another pitch and fewer tones work too', async () => {
    const table = createProofPipeline().appearance(piece);
    const second = { ...piece.passes[0], rowPitchMm: 0.13, lightEndPower: 0.2, darkEndPower: 0 };
    const small = await burnToneScale({ ...piece, passes: [piece.passes[0], second] }, table, runner, [], {
      tones: 3,
      films: [1],
      patchDots: 8,
    });
    expect(small.rgb).toHaveLength(9);
    expect(small.rgb.every(Number.isFinite)).toBe(true);
  });
});
