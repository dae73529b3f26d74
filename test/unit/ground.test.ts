import { describe, expect, test } from 'vitest';
import { createGround } from '../../src/physics/material/laid-stack.ts';
import { growRings, KNOT_LIGHTNESS, RING_STEP_MM } from '../../src/physics/wood/grain.ts';
import { DEFAULT_SLAB, plainSlab, SPECIES_NAMES, speciesOf, woodOf } from '../../src/piece/defaults.ts';
import { type Slab, woodSchema } from '../../src/piece/schema.ts';

const PITCH = 0.1;
interface Patch {
  readonly reliefUm: Float32Array;
  readonly density: Float32Array;
  readonly shade: Float32Array;
}
/** A square of the ground, row-major, from its corner in mm. */
function patch(slab: Slab, xMm: number, yMm: number, cells: number, pitchMm = PITCH): Patch {
  const ground = createGround(slab);
  const all = [0, 1, 2].map(() => new Float32Array(cells * cells));
  for (let y = 0; y < cells; y++) {
    const [reliefUm, density, shade] = all.map((plane) => plane.subarray(y * cells, (y + 1) * cells));
    ground.row({ originXMm: xMm, yMm: yMm + (y + 0.5) * pitchMm, pitchMm }, { reliefUm, density, shade });
  }
  return { reliefUm: all[0], density: all[1], shade: all[2] };
}
const mean = (values: ArrayLike<number>): number => Array.from(values).reduce((sum, v) => sum + v, 0) / values.length;
const spread = (values: ArrayLike<number>): number => {
  const middle = mean(values);
  return Math.sqrt(mean(Array.from(values, (v) => (v - middle) ** 2)));
};
const knot = { xMm: 0, yMm: 0, diameterMm: 20, tiltRad: 0, filled: true };

describe('species', () => {
  test('every one is a valid wood and found again by its name', () => {
    for (const { id } of SPECIES_NAMES) {
      expect(woodSchema.safeParse(woodOf(id)).success).toBe(true);
      expect(speciesOf(woodOf(id))).toBe(id);
    }
    expect(() => woodOf('teak')).toThrow('no wood called teak');
  });

  test('heavier woods take more energy, conifers have the strongest rings', () => {
    expect(woodOf('beech').specificEnergyJPerMm3).toBeGreaterThan(1.3 * woodOf('basswood').specificEnergyJPerMm3);
    for (const { id } of SPECIES_NAMES)
      expect(woodOf(id).ringContrast).toBeLessThanOrEqual(woodOf('pine').ringContrast);
  });
});

describe('growth rings', () => {
  test('have the width told on average, and latewood at their ends', () => {
    const { late } = growRings(7, 2, 400);
    let rings = 0;
    for (let i = 1; i < late.length; i++) if (late[i - 1] > 0.7 && late[i] < late[i - 1] - 0.1) rings++;
    const widthMm = (late.length * RING_STEP_MM) / rings;
    // 200 rings, CV 0.35, autocorrelation 0.5: a standard error of about 4 %.
    expect(Math.abs(widthMm - 2)).toBeLessThan(0.35);
    expect(Math.max(...late)).toBeGreaterThan(0.95);
    expect(Math.min(...late)).toBeGreaterThanOrEqual(0);
  });
});

describe('the wood under the coats', () => {
  test('plain wood is flat, even and clear', () => {
    const { reliefUm, density, shade } = patch(plainSlab(DEFAULT_SLAB), -5, 3, 40);
    expect([spread(reliefUm), spread(density), spread(shade)]).toEqual([0, 0, 0]);
    expect([density[0], shade[0]]).toEqual([1, 0]);
  });

  test.each(['slice', 'plank'] as const)('%s: mean density is the wood’s, relief as rough as told', (cut) => {
    const slab: Slab = { ...DEFAULT_SLAB, cut, wood: woodOf('pine') };
    const sanded = patch(slab, -60, -60, 240, 0.5);
    expect(Math.abs(mean(sanded.density) - 1)).toBeLessThan(0.1);
    expect(spread(sanded.density)).toBeGreaterThan(0.1);
    // Pores, ridges and saw marks are drawn to that sum; a patch of a few hundred rings is not far off.
    const sawn = patch({ ...slab, finish: 'as-sawn' }, -60, -60, 240, 0.5);
    for (const [is, wanted] of [
      [spread(sanded.reliefUm), slab.wood.sandedReliefUm],
      [spread(sawn.reliefUm), slab.wood.sawnReliefUm],
    ]) {
      expect(is).toBeGreaterThan(0.75 * wanted);
      expect(is).toBeLessThan(1.3 * wanted);
    }
  });

  test('grain runs along a plank and round the pith of a slice', () => {
    const wood = woodOf('pine');
    const change = ({ density }: Patch, step: number) => {
      let sum = 0;
      for (let i = 0; i + step < density.length; i++) sum += Math.abs(density[i + step] - density[i]);
      return sum / density.length;
    };
    const plank = patch({ ...DEFAULT_SLAB, cut: 'plank', wood }, 20, 20, 200);
    expect(change(plank, 200)).toBeGreaterThan(4 * change(plank, 1));
    // Straight out from the pith along x, rings cross x; straight out along y, they cross y.
    const at = { ...DEFAULT_SLAB, cut: 'slice' as const, wood, pithXMm: 0, pithYMm: 0 };
    const east = patch(at, 60, -10, 200);
    const south = patch(at, -10, 60, 200);
    expect(change(east, 1)).toBeGreaterThan(2 * change(east, 200));
    expect(change(south, 200)).toBeGreaterThan(2 * change(south, 1));
  });

  test('a knot is denser and darker, leaning ones are drawn out, rings run round it', () => {
    const slab: Slab = { ...DEFAULT_SLAB, cut: 'plank', knots: [knot] };
    const inside = patch(slab, -4, -4, 80);
    expect(mean(inside.density)).toBeGreaterThan(1.5);
    expect(mean(inside.density)).toBeLessThan(2.5);
    const darker = KNOT_LIGHTNESS * mean(inside.shade);
    expect(darker).toBeGreaterThan(14);
    expect(darker).toBeLessThan(26);
    const along = { ...slab, knots: [{ ...knot, tiltRad: 1.1 }] };
    expect(mean(patch(along, 15, -1, 20).density)).toBeGreaterThan(1.5);
    expect(mean(patch(slab, 15, -1, 20).density)).toBeLessThan(1.3);
    // Beside the knot the grain is another than without it; far off it is the same.
    const clear = { ...slab, knots: [] };
    expect(
      spread(patch(slab, 11, 6, 60).density.map((v, i) => v - patch(clear, 11, 6, 60).density[i])),
    ).toBeGreaterThan(0.01);
    expect(patch(slab, 80, 60, 40).density).toEqual(patch(clear, 80, 60, 40).density);
  });

  test('a check is as deep as told and runs out at its ends; filled it is nearly flush', () => {
    const check = { xMm: 10, yMm: -20, lengthMm: 40, headingRad: 0, widthMm: 1, depthMm: 0.9, filled: false };
    const slab = { ...plainSlab(DEFAULT_SLAB), checks: [check] };
    const deepest = (one: Slab, x: number) => -Math.min(...patch(one, x, -22.5, 50, 0.1).reliefUm);
    expect(deepest(slab, 8)).toBeGreaterThan(800);
    expect(deepest(slab, 8)).toBeLessThanOrEqual(900);
    expect(deepest(slab, 25)).toBeLessThan(0.6 * deepest(slab, 8));
    expect(deepest(slab, 31)).toBeLessThan(1e-6);
    expect(deepest({ ...slab, checks: [{ ...check, filled: true }] }, 8)).toBeLessThan(7);
  });

  test('a knot that is not filled has a crack, a filled one has none', () => {
    const at = (filled: boolean) =>
      -Math.min(...patch({ ...plainSlab(DEFAULT_SLAB), knots: [{ ...knot, filled }] }, -5, -5, 100).reliefUm);
    expect(at(false)).toBeGreaterThan(400);
    expect(at(true)).toBeLessThan(7);
  });

  test('is a number everywhere, wherever the last cell falls between the nodes of the grain', () => {
    for (let cells = 1; cells < 60; cells++) {
      for (const xMm of [-cells * 0.05, -3.3, 0.1, 7.05]) {
        const out = {
          reliefUm: new Float32Array(cells),
          density: new Float32Array(cells),
          shade: new Float32Array(cells),
        };
        createGround(DEFAULT_SLAB).row({ originXMm: xMm, yMm: 0.35, pitchMm: 0.1 }, out);
        expect([...out.reliefUm, ...out.density, ...out.shade].every(Number.isFinite)).toBe(true);
      }
    }
  });

  test('is the same at any tiling and another for another seed', () => {
    const slab: Slab = { ...DEFAULT_SLAB, finish: 'as-sawn', knots: [{ ...knot, filled: false }] };
    const whole = patch(slab, -6, -6, 64);
    const part = patch(slab, -6 + 2, -6 + 1.2, 24);
    for (const key of ['reliefUm', 'density', 'shade'] as const) {
      for (let y = 0; y < 24; y++) {
        for (let x = 0; x < 24; x++) {
          expect(part[key][y * 24 + x]).toBeCloseTo(whole[key][(y + 12) * 64 + x + 20], 3);
        }
      }
    }
    const other = patch({ ...slab, grainSeed: 2 }, -6, -6, 64);
    expect(spread(other.reliefUm.map((v, i) => v - whole.reliefUm[i]))).toBeGreaterThan(1);
  });
});
