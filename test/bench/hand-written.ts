import type { BurnPassInput, BurnPassOutput } from '../../src/burn/kernel/contract.ts';
import { LAYER_COLUMNS } from '../../src/physics/material/layers.ts';

/**
 * The yardstick: the plain law of `burn.kernel.ts` written out by hand for the commonest case (rows along x, two coats, aligned raster, no pulses, no thin
 * films, skin that nothing has touched), both results in one sweep, no workers, no checks. What a general tool costs is measured against it.
 */
export function burnByHand(input: BurnPassInput): BurnPassOutput {
  const { width, height, subX, subY, stride, thicknessRows, phases } = input;
  const { data: exposure, width: exposureWidth } = input.exposure;
  const { data: weights, width: taps } = input.weights;
  const { data: thickness, width: cells } = input.thicknessUm;
  const ground = input.ground.data;
  const { data: layers } = input.layers;
  const { rowOrigin, rowPerY, columnOrigin, columnPerX } = input.place;
  const plane = thicknessRows * cells;
  const depthUm = new Float32Array(width * height);
  const excess = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const cellRow = Math.floor(y / subY);
    const turns = ((y - cellRow * subY - 0.5 * (subY - 1)) * stride) / subY;
    const shift = turns - Math.floor(turns + 0.5);
    const rowPlace = rowOrigin + rowPerY * y;
    const rowBase = Math.floor(rowPlace);
    const phase = Math.floor((rowPlace - rowBase) * phases);
    const firstRow = (rowBase - (taps >> 1)) * exposureWidth;
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      const cell = cellRow * cells + Math.floor(x / subX);
      const cold = ground[cell];
      const woodAbsorptance = ground[plane + cell];
      const woodDensity = ground[2 * plane + cell];
      const profile = (ground[3 * plane + cell] * phases + phase) * taps;
      const columnPlace = columnOrigin + columnPerX * (x + shift);
      const column = Math.floor(columnPlace);
      const fraction = columnPlace - column > 0.0001 ? columnPlace - column : 0;
      let depth = input.depthUm[at];
      let passed = input.excess[at];
      let layer = 0;
      let bottom = thickness[cell];
      while (layer < 2 && depth >= bottom) {
        layer++;
        if (layer < 2) bottom += thickness[plane + cell];
      }
      for (let tap = 0; tap < taps; tap++) {
        const from = firstRow + tap * exposureWidth + column;
        const weight = weights[profile + tap];
        let dose = exposure[from] * weight;
        if (fraction > 0) dose = dose * (1 - fraction) + exposure[from + 1] * weight * fraction;
        if (dose === 0) continue;
        if (layer > 0) passed += dose;
        for (;;) {
          const heavy = layer < 2 ? 1 : woodDensity;
          const absorptance = layer < 2 ? layers[layer * LAYER_COLUMNS] : woodAbsorptance;
          const threshold = layers[layer * LAYER_COLUMNS + 1] * cold * heavy;
          const specificEnergy = layers[layer * LAYER_COLUMNS + 2] * heavy;
          const left = layer < 2 ? bottom - depth : 1e6;
          const opaque = (threshold / specificEnergy) * 1000;
          const share = left < opaque ? left / opaque : 1;
          if (absorptance * dose <= threshold) {
            if (layer === 0 && share < 1) passed += dose * (1 - share);
            break;
          }
          const bite = ((absorptance * dose - threshold) / specificEnergy) * 1000;
          const price = (threshold + specificEnergy * left * 0.001) / absorptance;
          if (bite < left) {
            depth += bite;
            if (layer === 0) passed += dose - share * dose;
            break;
          }
          const past = dose - share * price;
          if (layer === 0) passed += past;
          dose = Math.min(past, 3 * (dose - price));
          depth = bottom;
          layer++;
          if (layer < 2) bottom += thickness[plane + cell];
        }
      }
      depthUm[at] = depth;
      excess[at] = passed;
    }
  }
  return { depthUm, excess };
}

/** What the two results may differ by, µm and J/mm²: the kernel keeps its second result apart and works in another order. */
const MOST_APART = 1e-3;

/** @throws Error where the yardstick burns something else than what it is to measure. */
export function assertSameBurn(byHand: BurnPassOutput, byKernel: BurnPassOutput): void {
  for (const [name, mine, other] of [
    ['depth', byHand.depthUm, byKernel.depthUm],
    ['excess', byHand.excess, byKernel.excess],
  ] as const)
    for (let i = 0; i < mine.length; i++)
      if (!(Math.abs(mine[i] - other[i]) <= MOST_APART * Math.max(1, Math.abs(other[i]))))
        throw new Error(`the hand-written loop has another ${name} in cell ${i}: ${mine[i]}, the kernel ${other[i]}`);
}
