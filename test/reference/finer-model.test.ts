import { beforeAll, describe, expect, test } from 'vitest';
import { biteUm } from '../../src/burn/kernel/burn.kernel.ts';
import { lineDose } from '../../src/physics/beam/gaussian.ts';
import { dwellFactor, REFERENCE_DWELL_S } from '../../src/physics/material/layers.ts';
import { cross } from './finer-model/crossing.ts';
import { fitTwo } from './finer-model/fit.ts';
import { goneUm, type Mesh, untouched } from './finer-model/mesh.ts';
import { CLEAR_WORLD, SMOKY_WORLD, type World } from './finer-model/world.ts';

/**
 * The fast law against a finer model that it has not seen: heat conduction in depth, light absorbed in depth, Arrhenius decomposition
 * with its heat, a surface that recedes, smoke. The law's threshold and specific energy are fitted to two powers at one feed, and
 * what it then says of five other powers and two other feeds is compared. No source: a model is held against a model. Bounds are the
 * errors as measured, in the tables below, plus a tenth.
 *
 * Measured: depth taken from a film of 25 µm by one crossing, mean over six places 0 … 1 radius aside, µm, and the law's error: of that
 * mean / at the worst place. P at the middle feed, 7000 mm/min; at the others it is scaled with the feed, so that doses are the same.
 * Powers with a star were fitted at the middle feed.
 *
 *   clear world, fitted Eth 0.0111 J/mm², q 2.15 J/mm³      smoky world, fitted Eth 0.0207 J/mm², q 6.04 J/mm³
 *   P, W   7000 mm/min       3500              14000             P, W   7000               3500               14000
 *   0.25    0.61 +0.08/+0.29  0.24 −0.04/−0.20  0.95 +0.21/+0.49   0.5    0.09 +0.52/+1.44   0.01 +0.24/+0.90   0.30 +0.63/+1.42
 *   0.35    1.88 +0.11/+0.30  1.29 +0.03/+0.10  2.35 +0.26/+0.49   0.8    1.61 +0.51/+1.34   0.93 +0.62/+1.47   2.14 +0.40/+1.22
 *   0.5*    4.26 +0.03/+0.28  3.46 −0.08/−0.29  4.80 +0.12/+0.48   1.2*   4.41 −0.08/+1.33   3.50 +0.22/+1.48   5.08 −0.21/−1.42
 *   0.7     7.78 −0.30/−1.02  6.85 −0.37/−1.08  8.42 −0.14/−0.86   1.7    7.73 −0.39/−1.46   6.87 −0.28/−1.27   8.41 −0.54/−1.60
 *   1.0*   12.56 −0.03/−1.09 11.68 −0.28/−1.16 13.12 +0.15/+1.22   2.4*  11.46 +0.08/+1.38  10.65 +0.13/+1.49  12.06 +0.11/+1.59
 *   1.4    15.89 +0.22/+1.37 15.23 +0.13/−1.01 16.37 +0.24/+1.10   3.4   14.82 +0.93/+2.30  14.22 +0.94/+2.56  15.36 +0.82/+2.04
 *   2.0    18.64 +0.15/+0.53 18.07 +0.05/−0.51 19.02 +0.26/+1.05   5.0   17.98 +0.71/+1.59  17.38 +0.86/+1.78  18.45 +0.56/+1.81
 *   rms*         0.45              0.41              0.47                      1.14               1.01               1.12
 *   *over all powers and places that were not fitted
 *
 * A feed exponent on threshold and specific energy, fitted to all of it, would lower the rms from 0.444 to 0.427 and from 1.069 to 1.064 µm:
 * the dwell factor does. Without it the rms is 0.749 and 1.219 µm.
 */
const RADIUS = 0.1;
const FEED = (2 * RADIUS) / REFERENCE_DWELL_S;
/** Places across the row, in radii. */
const ASIDE = [0, 0.2, 0.4, 0.6, 0.8, 1];
const FILM_UM = 25;
/** The law's absorptance; what the film's surface turns back in the finer model is 0.07. */
const ABSORPTANCE = 0.93;

function burned(world: World, mesh: Mesh, powerW: number, feedMmPerS: number, aside: number): number {
  cross(world, mesh, { powerW, feedMmPerS, radiusMm: RADIUS, asideMm: aside * RADIUS }, 500);
  return goneUm(mesh, 0);
}
const fine = (world: World, powerW: number, feed: number): number[] =>
  ASIDE.map((aside) => burned(world, untouched(world), powerW, feed, aside));

type Fitted = readonly [threshold: number, specificEnergy: number];
const bite = ([threshold, energy]: Fitted, powerW: number, feed: number, aside: number, left = FILM_UM): number =>
  biteUm(
    lineDose(powerW, feed, RADIUS, aside * RADIUS),
    ABSORPTANCE,
    threshold * dwellFactor((2 * RADIUS) / feed),
    energy,
    left,
    0,
    0,
  );

/** The law without its dwell factor. */
const undwelled = ([threshold, energy]: Fitted, powerW: number, feed: number, aside: number): number =>
  biteUm(lineDose(powerW, feed, RADIUS, aside * RADIUS), ABSORPTANCE, threshold, energy, FILM_UM, 0, 0);

function fitted(world: World, powers: readonly number[]): Fitted {
  const seen = powers.map((powerW) => fine(world, powerW, FEED));
  const misfit = (threshold: number, energy: number) =>
    powers.reduce(
      (sum, powerW, k) =>
        sum + ASIDE.reduce((s, aside, i) => s + (bite([threshold, energy], powerW, FEED, aside) - seen[k][i]) ** 2, 0),
      0,
    );
  return fitTwo(misfit, [0.01, 2]);
}

interface Case {
  readonly name: string;
  readonly world: World;
  /** At the middle feed, W. */
  readonly seen: readonly number[];
  readonly unseen: readonly number[];
  /** Per feed: share of the middle one, largest error, rms and the largest error of a mean over the row, as measured, µm. */
  readonly feeds: readonly (readonly [share: number, worst: number, rms: number, mean: number])[];
}
const CASES: readonly Case[] = [
  {
    name: 'clear world',
    world: CLEAR_WORLD,
    seen: [0.5, 1],
    unseen: [0.25, 0.35, 0.7, 1.4, 2],
    feeds: [
      [1, 1.37, 0.45, 0.3],
      [0.5, 1.163, 0.41, 0.37],
      [2, 1.22, 0.47, 0.26],
    ],
  },
  {
    name: 'smoky world',
    world: SMOKY_WORLD,
    seen: [1.2, 2.4],
    unseen: [0.5, 0.8, 1.7, 3.4, 5],
    feeds: [
      [1, 2.3, 1.14, 0.93],
      [0.5, 2.56, 1.01, 0.94],
      [2, 2.04, 1.12, 0.82],
    ],
  },
];
const MARGIN = 1.1;
const rmsOf = (values: readonly number[]): number =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe.each(CASES)('$name', ({ world, seen, unseen, feeds }) => {
  let fit: Fitted = [0, 0];
  beforeAll(() => {
    fit = fitted(world, seen);
  });

  test.each(feeds)('powers that were not fitted, at %f times the feed', (share, worst, rms, mean) => {
    const feed = share * FEED;
    const powers = share === 1 ? unseen : [...seen, ...unseen];
    const errors: number[] = [];
    const flat: number[] = [];
    for (const power of powers) {
      const depths = fine(world, share * power, feed);
      const off = ASIDE.map((aside, i) => bite(fit, share * power, feed, aside) - depths[i]);
      const meanOff = off.reduce((sum, value) => sum + value, 0) / off.length;
      expect(Math.abs(meanOff), `mean at ${power} W`).toBeLessThan(MARGIN * mean);
      errors.push(...off);
      flat.push(...ASIDE.map((aside, i) => undwelled(fit, share * power, feed, aside) - depths[i]));
    }
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(MARGIN * worst);
    expect(rmsOf(errors)).toBeLessThan(MARGIN * rms);
    // Thresholds that do not know the dwell do worse at any other feed.
    if (share !== 1) expect(rmsOf(errors)).toBeLessThan(rmsOf(flat));
  });

  test('rows one after another: paid at each crossing it is near, doses added up it is far off', () => {
    // Seven rows 0.085 mm apart, cold in between, at a place on a row, a quarter and half a pitch aside. Measured in µm: 9.6 … 19.0 taken, the
    // law off by at most 1.26 (clear) and 1.09 (smoky), the sum of doses by 4.2 … 8.2.
    const bound = world === CLEAR_WORLD ? 1.26 : 1.09;
    for (const power of [seen[0], unseen[2]]) {
      for (const place of [0, 0.25, 0.5]) {
        const aside = [-3, -2, -1, 0, 1, 2, 3].map((row) => 0.85 * Math.abs(row - place));
        const mesh = untouched(world);
        let depth = 0;
        let sum = 0;
        for (const away of aside) {
          burned(world, mesh, power, FEED, away);
          depth += bite(fit, power, FEED, away, FILM_UM - depth);
          sum += lineDose(power, FEED, RADIUS, away * RADIUS);
        }
        const truth = goneUm(mesh, 0);
        expect(Math.abs(depth - truth)).toBeLessThan(MARGIN * bound);
        const added = biteUm(sum, ABSORPTANCE, fit[0], fit[1], FILM_UM, 0, 0);
        expect(added - truth).toBeGreaterThan(4);
      }
    }
  });

  test('where the law just clears, a thin residue is left: it takes up ever less of the light', () => {
    // Residues in µm at 1, 1.25, 2 and 3 times the dose at which the law clears; the law has 0 from the first on. 1 µm is about 16 L*.
    const measured = world === CLEAR_WORLD ? [1.44, 0.46, 0.099, 0.023] : [3.387, 1.91, 0.581, 0.223];
    const clearing = (fit[0] + fit[1] * 1e-3 * FILM_UM) / ABSORPTANCE / lineDose(1, FEED, RADIUS);
    [1, 1.25, 2, 3].forEach((times, i) => {
      const residue = FILM_UM - burned(world, untouched(world), times * clearing, FEED, 0);
      // A twentieth for the fit and the grid.
      expect(Math.abs(residue / measured[i] - 1)).toBeLessThan(0.05);
      expect(bite(fit, times * clearing * 1.0001, FEED, 0)).toBe(FILM_UM);
    });
  });

  test('the onset is soft: at the threshold up to a few tenths of a micrometre, well below it nothing', () => {
    const threshold = fit[0] / ABSORPTANCE / lineDose(1, FEED, RADIUS);
    const at = (share: number) => burned(world, untouched(world), share * threshold, FEED, 0);
    expect(at(0.8)).toBeLessThan(0.01);
    // 0.176 µm measured in the clear world; in the smoky one the fitted threshold lies below where anything begins.
    if (world === CLEAR_WORLD) expect(Math.abs(at(1) - 0.176)).toBeLessThan(0.02);
    else expect(at(1.2)).toBeLessThan(0.02);
  });
});
