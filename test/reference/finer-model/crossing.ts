import { takeUp } from './light.ts';
import type { Mesh } from './mesh.ts';
import type { World } from './world.ts';

/** A beam passing over: full power [W], 1/e² radius [mm], feed [mm/s], distance of the place from the row [mm]. */
export interface Passing {
  readonly powerW: number;
  readonly radiusMm: number;
  readonly feedMmPerS: number;
  readonly asideMm: number;
}

/** Below this share of its mass a cell counts as gone. */
const GONE = 0.01;

/**
 * One crossing, from the cold. Per step: light into the cells, conduction by the implicit Euler method on cells that shrink with
 * their mass (a tridiagonal system), then decomposition with its heat, linearised in the temperature it cools itself to. Gas leaves
 * at once and takes its own heat along. Changes `mesh.left`; returns the hottest temperature reached, K.
 */
export function cross(world: World, mesh: Mesh, passing: Passing, stepsPerDwell = 1500): number {
  const { powerW, radiusMm, feedMmPerS, asideMm } = passing;
  const n = mesh.left.length;
  const dwell = (2 * radiusMm) / feedMmPerS;
  const dt = dwell / stepsPerDwell;
  const peak = ((2 * powerW) / (Math.PI * radiusMm ** 2)) * Math.exp(-2 * (asideMm / radiusMm) ** 2);
  const temperature = new Float64Array(n).fill(world.startK);
  const heat = new Float64Array(n);
  const diagonal = new Float64Array(n);
  const right = new Float64Array(n);
  let smoke = 0;
  let hottest = world.startK;
  let from = 0;

  // The beam's tail at 1.6 radii is exp(−5); afterwards it cools for another dwell and a half.
  for (let step = 0; step < 4 * stepsPerDwell; step++) {
    while (from < n && mesh.left[from] < GONE) from++;
    if (from === n) break;
    const place = ((step + 0.5) * dt * feedMmPerS) / radiusMm - 3;
    const intensity = place < 3 ? peak * Math.exp(-2 * place * place - world.smokePerMm * smoke) : 0;
    if (intensity > 0) takeUp(world, mesh, from, heat);
    else heat.fill(0);

    // Forward sweep: capacity_i (T_i − T_old) / dt = g_{i−1}(T_{i−1} − T_i) + g_i (T_{i+1} − T_i) + light.
    let above = 0;
    for (let i = from; i < n; i++) {
      const layer = world.layers[mesh.layerOf[i]];
      const thick = mesh.left[i] * mesh.thicknessMm[i];
      const capacity = (layer.volumetricHeat * thick) / dt;
      let below = 0;
      if (i + 1 < n) {
        const next = world.layers[mesh.layerOf[i + 1]];
        const thickNext = mesh.left[i + 1] * mesh.thicknessMm[i + 1];
        below = 2 / (thick / layer.conductivity + thickNext / next.conductivity);
      }
      diagonal[i] = capacity + above + below;
      right[i] = capacity * temperature[i] + intensity * heat[i];
      if (i > from) {
        diagonal[i] -= (above * above) / diagonal[i - 1];
        right[i] += (above / diagonal[i - 1]) * right[i - 1];
      }
      heat[i] = below;
      above = below;
    }
    temperature[n - 1] = right[n - 1] / diagonal[n - 1];
    for (let i = n - 2; i >= from; i--) temperature[i] = (right[i] + heat[i] * temperature[i + 1]) / diagonal[i];

    let receded = 0;
    for (let i = from; i < n; i++) {
      const { frequencyPerS, activationK, decompositionHeat, volumetricHeat } = world.layers[mesh.layerOf[i]];
      const at = temperature[i];
      if (at > hottest) hottest = at;
      if (frequencyPerS === 0 || at < 400) continue;
      const rate = frequencyPerS * Math.exp(-activationK / at);
      const drop = decompositionHeat / volumetricHeat;
      // The reaction cools its own cell: its share x solves x = rate·dt·exp(−(Ea/RT²)·drop·x) to first order.
      const share = Math.min(1, (rate * dt) / (1 + (rate * dt * activationK * drop) / (at * at)));
      temperature[i] = at - drop * share;
      receded += share * mesh.left[i] * mesh.thicknessMm[i];
      mesh.left[i] *= 1 - share;
    }
    smoke = smoke * Math.exp(-dt / world.smokeStaysS) + receded;
  }
  // What is left of cells that count as gone is an ash of no thickness.
  for (let i = 0; i < from; i++) mesh.left[i] = 0;
  return hottest;
}
