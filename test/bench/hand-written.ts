import type { BurnPassInput, BurnPassOutput } from '../../src/burn/kernel/contract.ts';

/**
 * The yardstick: the same burn written out by hand for the commonest case (rows along x, two coats, aligned raster), both results
 * in one sweep, no workers, no checks. What a general tool costs is measured against it.
 */
export function burnByHand(input: BurnPassInput): BurnPassOutput {
  const { width, height, subY, stride, thicknessRows } = input;
  const exposure = input.exposure.data;
  const exposureWidth = input.exposure.width;
  const weights = input.weights.data;
  const taps = input.weights.width;
  const thickness = input.thicknessUm.data;
  const layers = input.layers.data;
  const { columnOrigin, columnPerX } = input.place;
  const rowStart = Math.floor(input.place.rowOrigin) - (taps >> 1);
  const depthUm = new Float32Array(width * height);
  const excess = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const cellRow = (y / subY) | 0;
    const phase = y % subY;
    const turns = ((phase - 0.5 * (subY - 1)) * stride) / subY;
    const columnStart = columnOrigin + columnPerX * (turns - Math.floor(turns + 0.5));
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      const column = Math.round(columnStart + columnPerX * x);
      let depth = input.depthUm[at];
      let passed = input.excess[at];
      let layer = 0;
      let bottom = thickness[cellRow * width + x];
      while (layer < 2 && depth >= bottom) {
        layer++;
        if (layer < 2) bottom += thickness[(thicknessRows + cellRow) * width + x];
      }
      for (let tap = 0; tap < taps; tap++) {
        let dose = exposure[(rowStart + cellRow + tap) * exposureWidth + column] * weights[phase * taps + tap];
        if (layer > 0) passed += dose;
        for (;;) {
          const absorptance = layers[layer * 3];
          const threshold = layers[layer * 3 + 1];
          const specificEnergy = layers[layer * 3 + 2];
          const left = layer < 2 ? bottom - depth : 1e6;
          const opaque = (threshold / specificEnergy) * 1000;
          const share = left < opaque ? left / opaque : 1;
          const bite = ((absorptance * dose - threshold) / specificEnergy) * 1000;
          if (bite < left) {
            if (bite > 0) depth += bite;
            if (layer === 0) passed += dose * (1 - share);
            break;
          }
          const price = (threshold + specificEnergy * left * 0.001) / absorptance;
          const past = dose - share * price;
          if (layer === 0) passed += past;
          dose = Math.min(past, 3 * (dose - price));
          depth = bottom;
          layer++;
          if (layer < 2) bottom += thickness[(thicknessRows + cellRow) * width + x];
        }
      }
      depthUm[at] = depth;
      excess[at] = passed;
    }
  }
  return { depthUm, excess };
}
