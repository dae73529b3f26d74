import { describe, expect, test } from 'vitest';
import { biteUm } from '../../src/burn/kernel/burn.kernel.ts';
import { fitTwo } from './finer-model/fit.ts';
import { crossed } from './finer-model/tabulated.ts';
import { CLEAR_WORLD, SMOKY_WORLD, type World } from './finer-model/world.ts';

/**
 * What thin films lose, against heat conduction with decomposition. Threshold and specific energy are fitted to two crossings of a thick film, once for
 * each optical depth that is tried; everything about thin films is then foretold. No source: a model is held against a model.
 */
const RADIUS = 0.1;
const FEED = 7000 / 60;
const ABSORPTANCE = 0.93;

type Law = (dose: number, leftUm: number) => number;

function lawFor(world: World, thinUm: number): Law {
  const seen = [0.06, 0.09].map((dose) => [dose, 25 - crossed(world, RADIUS, FEED, 25, dose, 0)] as const);
  const [threshold, energy] = fitTwo(
    (eth, q) =>
      seen.reduce((sum, [dose, gone]) => sum + (biteUm(dose, ABSORPTANCE, eth, q, 25, 0, thinUm) - gone) ** 2, 0),
    [0.015, 2.5],
  );
  return (dose, leftUm) => biteUm(dose, ABSORPTANCE, threshold, energy, leftUm, 0, thinUm);
}

/** Root mean square of residues over thin films and doses, µm. */
function offBy(world: World, law: Law): number {
  let sum = 0;
  let count = 0;
  for (const leftUm of [0.7, 1.5, 3, 5]) {
    for (const dose of [0.02, 0.04, 0.07, 0.12]) {
      const truth = crossed(world, RADIUS, FEED, leftUm, dose, 0);
      sum += (leftUm - law(dose, leftUm) - truth) ** 2;
      count++;
    }
  }
  return Math.sqrt(sum / count);
}

describe.each([
  ['clear', CLEAR_WORLD],
  ['smoky', SMOKY_WORLD],
] as const)('thin films in the %s world', (_, world) => {
  test('residues are nearer than with films that take up all light', () => {
    // The light's own depth is 6.7 and 12.5 µm; what the white below throws back goes through the film again.
    const depth = 0.6 * (1000 / world.layers[0].absorptionPerMm);
    const opaque = offBy(world, lawFor(world, 0));
    const open = offBy(world, lawFor(world, depth));
    // Measured over opaque: 0.65 and 0.53.
    expect(open).toBeLessThan(0.7 * opaque);
  });
});
