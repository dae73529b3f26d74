import direct from 'ml-direct';
import { beforeAll, describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { buildAppearance } from '../../src/physics/material/appearance.ts';
import { evaluate } from '../../src/studies/choose/look.ts';
import { costOf, EVEN_WISHES, type Outcome, type Wishes } from '../../src/studies/choose/odds.ts';
import { type SearchPoint, search } from '../../src/studies/choose/search.ts';
import { passAt, settingsSpace } from '../../src/studies/choose/settings.ts';
import { createTrials } from '../../src/studies/choose/trials.ts';
import { withDrawnFilm } from '../../src/studies/sure/spread.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

/**
 * Outside checks of the search: planted problems whose best place is known by construction, an exhaustive grid, and DIRECT (Jones,
 * Perttunen & Stuckman, J. Optim. Theory Appl. 79, 1993) of the npm package ml-direct on the very same function.
 */
async function found(
  cost: (place: SearchPoint) => number,
  variables: number,
  kinds: number,
  budget = 150,
): Promise<number> {
  const all = await search({
    variables,
    kinds,
    evaluate: async (place) => cost(place),
    starts: [{ at: Array(variables).fill(0.5), kind: 0 }],
    costs: [(value: number) => value],
    seed: 7,
    scattered: 14,
    budget,
  });
  expect(all.length).toBeLessThanOrEqual(budget);
  return Math.min(...all.map(({ value }) => value));
}

/** What DIRECT finds, with some hundreds of evaluations. */
function foundByDirect(cost: (at: number[]) => number, variables: number): number {
  const unit = (value: number) => Array<number>(variables).fill(value);
  return direct((at) => cost(Array.from(at)), unit(0), unit(1), { iterations: 14 }).minFunctionValue;
}

/** All are 1 at their best. */
const PLANTED: Record<string, (at: readonly number[], kind: number) => number> = {
  'a bowl off the middle, another kind best': (at, kind) =>
    1 + at.reduce((sum, v, i) => sum + (v - 0.13 - 0.17 * i) ** 2, 0) + (kind === 2 ? 0 : 0.3),
  'a valley along the diagonal of two variables': ([a, b, ...rest]) =>
    1 + 9 * (a - b) ** 2 + (a + b - 1.3) ** 2 + rest.reduce((sum, v) => sum + (v - 0.5) ** 2, 0),
  'the best place on the edge of what is allowed': ([a, b, c]) =>
    1.5 - Math.min(a, 0.5) + Math.abs(c - 0.3) + 10 * Math.max(0, a - 0.5) + (b - 0.4) ** 2,
  'a best place in the corner': (at) => 1 + at.reduce((sum, v) => sum + (1 - v), 0),
};

describe('the search on planted problems', () => {
  test.each(Object.keys(PLANTED))('%s: within 2 % of the known best', async (name) => {
    const cost = PLANTED[name];
    expect(await found(({ at, kind }) => cost(at, kind), 5, 5)).toBeLessThan(1.02);
  });

  test.each(Object.keys(PLANTED))('%s: a general-purpose optimiser does no better by more than 2 %', async (name) => {
    const cost = PLANTED[name];
    const theirs = Math.min(...[0, 1, 2, 3, 4].map((kind) => foundByDirect((at) => cost(at, kind), 3)));
    expect(await found(({ at, kind }) => cost(at, kind), 3, 5)).toBeLessThan(1.02 * theirs);
  });

  test('tells the same twice and stops when told', async () => {
    const look = () => found(({ at }) => PLANTED['a best place in the corner'](at, 0), 3, 2, 60);
    expect(await look()).toBe(await look());
    const stopped = search({
      variables: 2,
      kinds: 1,
      evaluate: async () => 1,
      starts: [],
      costs: [() => 1],
      seed: 1,
      scattered: 4,
      budget: 10,
      signal: AbortSignal.abort(new Cancelled()),
    });
    await expect(stopped).rejects.toThrow('cancelled');
  });
});

describe('the search on burned patches', () => {
  /** Outcomes on a grid of power, feed and row pitch, read in between: one and the same function for all three. */
  const STEPS = [10, 3, 4];
  /** Part of each variable's range that the grid spans: outside of it nothing clears or everything scorches. */
  const SPANS = [
    [0.35, 0.85],
    [0.3, 1],
    [0.1, 0.75],
  ];
  let table: Outcome[];
  beforeAll(async () => {
    const plain = plainPiece(2000, { screen: 'clustered-dot', rowPitchMm: 0.1, feedMmPerS: 100, lightEndPower: 0.8 });
    const picture = pictureOf(200, 160, (x, y) => 0.02 + (0.95 * (x + y)) / 360);
    const { specificEnergy, thickness, power } = plain.certainty;
    const certainty = {
      ...plain.certainty,
      // Known, and the onset of scorch with it: else the window is too narrow for so coarse a grid.
      threshold: 0,
      specificEnergy: specificEnergy / 2,
      thickness: thickness / 2,
      power: power / 2,
    };
    const piece = { ...plain, certainty };
    const scene = createCoarsePipeline().scene(withDrawnFilm(piece, 0), { key: 'ramp', picture, castless: null });
    const runner = await cpuRunner();
    const bench = createTrials(piece, scene, buildAppearance(piece.stack, piece.slab.wood), runner);
    const space = settingsSpace(piece, bench.facts, () => 0);
    table = [];
    for (let i = 0; i < STEPS[0] * STEPS[1] * STEPS[2]; i++) {
      const at = [i % 10, Math.floor(i / 10) % 3, Math.floor(i / 30)].map(
        (k, n) => SPANS[n][0] + ((SPANS[n][1] - SPANS[n][0]) * k) / (STEPS[n] - 1),
      );
      table.push(await evaluate(bench, passAt(space, { at: [...at, 0, 0, 0], kind: 0 })));
    }
  }, 60_000);

  const costAt = (at: readonly number[], wishes: Wishes): number => {
    const places = at.map((value, n) => Math.min(STEPS[n] - 1 - 1e-9, Math.max(0, value) * (STEPS[n] - 1)));
    let sum = 0;
    for (let corner = 0; corner < 8; corner++) {
      let weight = 1;
      let index = 0;
      let stride = 1;
      places.forEach((place, n) => {
        const low = Math.floor(place);
        const up = (corner >> n) & 1;
        weight *= up ? place - low : 1 - (place - low);
        index += stride * (low + up);
        stride *= STEPS[n];
      });
      if (weight > 0) sum += weight * costOf(table[index], wishes);
    }
    return sum;
  };

  test.each([EVEN_WISHES, { quality: 100, minutes: 5, safety: 20 }, { quality: 5, minutes: 100, safety: 20 }])(
    'within 2 %% of an exhaustive grid, and of DIRECT, for %o',
    async (wishes) => {
      const grid = Math.min(...table.map((outcome) => costOf(outcome, wishes)));
      // A grid that breaks the limits everywhere would test nothing.
      expect(grid).toBeLessThan(1);
      const ours = await found(({ at }) => costAt(at, wishes), 3, 1);
      expect(ours).toBeLessThan(1.02 * grid);
      expect(ours).toBeLessThan(1.02 * foundByDirect((at) => costAt(at, wishes), 3));
    },
  );
});
