import { describe, expect, test } from 'vitest';
import { cross } from './crossing.ts';
import { goneUm, type Mesh, untouched } from './mesh.ts';
import { CLEAR_WORLD, SMOKY_WORLD, type World } from './world.ts';

/** Whether the finer model keeps to the physics that it claims; the fast law is held against it in ../finer-model.test.ts. */
const RADIUS = 0.1;
/** 7000 mm/min. */
const FEED = 7000 / 60;

/** On the row itself. */
function burned(world: World, mesh: Mesh, powerW: number): number {
  cross(world, mesh, { powerW, feedMmPerS: FEED, radiusMm: RADIUS, asideMm: 0 }, 500);
  return goneUm(mesh, 0);
}

describe('the finer model itself', () => {
  const inert = CLEAR_WORLD.layers.map((layer) => ({ ...layer, frequencyPerS: 0 }));

  test('heats an inert block as the half-space does', () => {
    // All light in the first 0.02 µm, one layer 0.4 mm thick, against ΔT = ∫ q″(t − s)/√(πkρc·s) ds with s = u² (Carslaw & Jaeger 1959, §2.9,
    // value from memory). Measured 0.06 %; half a growth of the cells and a step in time allow 0.2 %.
    const block = { ...inert[0], thicknessMm: 0.4, cells: 160, growth: 1.05, absorptionPerMm: 5e4 };
    const world: World = { ...CLEAR_WORLD, layers: [block] };
    const hottest = cross(world, untouched(world), { powerW: 0.3, feedMmPerS: FEED, radiusMm: RADIUS, asideMm: 0.05 });
    const flux = (t: number) =>
      0.93 * ((2 * 0.3) / (Math.PI * RADIUS ** 2)) * Math.exp(-2 * 0.25 - 2 * ((FEED * t) / RADIUS) ** 2);
    let peak = 0;
    for (let t = -0.0005; t < 0.001; t += 1e-5) {
      let sum = 0;
      const du = 1e-4;
      for (let u = du / 2; u < 0.08; u += du) sum += 2 * flux(t - u * u) * du;
      peak = Math.max(peak, sum / Math.sqrt(Math.PI * block.conductivity * block.volumetricHeat));
    }
    expect(Math.abs((hottest - world.startK) / peak - 1)).toBeLessThan(0.002);
  });

  test('charges what the energy balance asks: ρ(cΔT + L) more for each further mm³', () => {
    // From 0.5 to 0.8 W, at the hottest 383 and 395 K above the start: 1.82e-3·389 + 1.3 J/mm³; 5 % for what conduction takes on top.
    const depths = [0.5, 0.8].map((powerW) => burned(CLEAR_WORLD, untouched(CLEAR_WORLD), powerW));
    const energy = (0.93 * Math.sqrt(2 / Math.PI) * (0.8 - 0.5)) / (FEED * RADIUS) / (1e-3 * (depths[1] - depths[0]));
    expect(Math.abs(energy / (1.82e-3 * 389 + 1.3) - 1)).toBeLessThan(0.05);
  });

  test('does not depend on its cells and steps: 0.3 % and 0.02 µm', () => {
    for (const world of [CLEAR_WORLD, SMOKY_WORLD]) {
      for (const powerW of [0.3, 0.8, 1.6]) {
        const mesh = untouched(world, 3);
        cross(world, mesh, { powerW, feedMmPerS: FEED, radiusMm: RADIUS, asideMm: 0 }, 2000);
        const coarse = burned(world, untouched(world), powerW);
        expect(Math.abs(coarse - goneUm(mesh, 0))).toBeLessThan(0.02 + 0.003 * coarse);
      }
    }
  });
});
