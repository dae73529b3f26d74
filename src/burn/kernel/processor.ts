import { biteUm, clearingDose, lostShare, opaqueDepthUm, thickDepthUm } from './burn.kernel.ts';
import type { BurnPassInput, BurnPassOutput } from './contract.ts';

/** Values of a row of `layers`. */
const LAYER_VALUES = 6;

/** What is left of the wood. */
const ENDLESS_UM = 1_000_000;

/** A bite of less than this share of a film does not clear it, whatever the last digits say. */
const NEARLY = 1 - 1e-9;

/**
 * `burnCell` for every fine cell of a swath, to the last bit what it gives: cell by cell, so that what the places of one have in common is
 * read once, and both results in one run. Held against it in test/parity/burn.test.ts.
 */
export function burnOnProcessor(input: BurnPassInput): BurnPassOutput {
  const { width, coats, thicknessRows, subX, subY, phases, stride, place } = input;
  const { rowOrigin, rowPerX, rowPerY, columnOrigin, columnPerX, columnPerY } = place;
  const { data: exposure, width: exposureWidth } = input.exposure;
  const taps = input.weights.width;
  const weights = Float64Array.from(input.weights.data);
  const { data: thickness, width: across } = input.thicknessUm;
  const ground = input.ground.data;
  const layers = input.layers.data;
  const { depthUm, excess: excessDose } = input.into ?? {
    depthUm: new Float32Array(input.depthUm.length),
    excess: new Float32Array(input.excess.length),
  };
  depthUm.set(input.depthUm);
  excessDose.set(input.excess);
  const halfTaps = Math.floor(taps / 2);
  const plane = thicknessRows * across;
  const turns = Float64Array.from({ length: subY }, (_, k) => ((k - 0.5 * (subY - 1)) * stride) / subY);
  const wholes = turns.map((turn) => Math.floor(turn + 0.5));
  const cells = width / subX;
  const rows = input.height / subY;

  /** Where the first tap of fine row k begins in the exposure, and its part of a row pitch; the same all along for a pass that runs straight. */
  const straight = rowPerX === 0;
  const firstTap = new Int32Array(subY);
  const phaseOf = new Int32Array(subY);
  const placeRow = (k: number, placeX: number, y: number): void => {
    const rowPlace = rowOrigin + rowPerX * placeX + rowPerY * y;
    const rowBase = Math.floor(rowPlace);
    firstTap[k] = (rowBase - halfTaps) * exposureWidth;
    phaseOf[k] = Math.floor((rowPlace - rowBase) * phases);
  };

  for (let cellY = 0; cellY < rows; cellY++) {
    for (let k = 0; straight && k < subY; k++) placeRow(k, 0, cellY * subY + k);
    for (let cellX = 0; cellX < cells; cellX++) {
      const here = cellY * across + cellX;
      const cold = ground[here];
      const woodAbsorptance = ground[plane + here];
      const woodDensity = ground[2 * plane + here];
      const focus = Math.floor(ground[3 * plane + here] + 0.5) * phases;
      const firstCoat = coats > 0 ? thickness[here] : 0;
      const firstHeavy = coats > 0 ? 1 : woodDensity;
      const firstThreshold = layers[1] * cold * firstHeavy;
      const firstEnergy = layers[2] * firstHeavy;
      const firstOpaqueUm = opaqueDepthUm(firstThreshold, firstEnergy, layers[3]);
      for (let k = 0; k < subY; k++) {
        const y = cellY * subY + k;
        for (let x = cellX * subX; x < (cellX + 1) * subX; x++) {
          const placeX = x + turns[k] - wholes[k];
          if (!straight) placeRow(k, placeX, y);
          const columnPlace = columnOrigin + columnPerX * placeX + columnPerY * y;
          const column = Math.floor(columnPlace) | 0;
          const fraction = columnPlace - column;
          const profile = ((focus + phaseOf[k]) * taps) | 0;
          const at = y * width + x;
          let from = (firstTap[k] + column) | 0;
          let depth = depthUm[at];
          let excess = excessDose[at];

          let layer = 0;
          let row = 0;
          let top = 0;
          let bottom = firstCoat;
          let threshold = firstThreshold;
          let specificEnergy = firstEnergy;
          let opaqueUm = firstOpaqueUm;
          if (coats > 0 && depth >= firstCoat) {
            while (layer < coats && depth >= bottom) {
              layer++;
              top = bottom;
              if (layer < coats) bottom += thickness[layer * plane + here];
            }
            row = layer * LAYER_VALUES;
            const heavy = layer < coats ? 1 : woodDensity;
            threshold = layers[row + 1] * cold * heavy;
            specificEnergy = layers[row + 2] * heavy;
            opaqueUm = opaqueDepthUm(threshold, specificEnergy, layers[row + 3]);
          }
          const touched = 1 + (layers[row + 5] - 1) * Math.min(1, 2 * (depth - top));
          let absorptance = (layer < coats ? layers[row] : woodAbsorptance) * touched;
          let pulseUm = layers[row + 3];
          let thinUm = layers[row + 4];
          let plain = pulseUm <= 0 && thinUm <= 0;

          let tap = 0;
          if (layer === 0 && coats > 0 && plain) {
            // Most crossings find the topmost coat and leave some of it.
            for (; tap < taps; tap++, from += exposureWidth) {
              let dose = exposure[from] * weights[profile + tap];
              if (fraction > 0.0001)
                dose = dose * (1 - fraction) + exposure[from + 1] * weights[profile + tap] * fraction;
              const over = absorptance * dose - threshold;
              const left = bottom - depth;
              if (over > 0) {
                const bite = (over / specificEnergy) * 1000;
                if (bite >= left) break;
                if (left < opaqueUm || bite > NEARLY * left) {
                  const share = left < opaqueUm ? left / opaqueUm : 1;
                  excess += dose - share * Math.min(dose, (threshold + specificEnergy * left * 0.001) / absorptance);
                }
                depth += bite;
              } else if (left < opaqueUm) excess += dose * (1 - left / opaqueUm);
            }
          }
          for (; tap < taps; tap++, from += exposureWidth) {
            const weight = weights[profile + tap];
            let dose = exposure[from] * weight;
            if (fraction > 0.0001) dose = dose * (1 - fraction) + exposure[from + 1] * weight * fraction;
            if (layer > 0 || coats === 0) {
              excess += dose;
              if (absorptance * dose <= threshold) continue;
            } else if (absorptance * dose <= threshold) {
              if (bottom - depth < opaqueUm) excess += dose * (1 - (bottom - depth) / opaqueUm);
              continue;
            }
            for (let step = layer; step <= coats; step++) {
              const left = layer < coats ? bottom - depth : ENDLESS_UM;
              const absorbed = absorptance * dose;
              let bite = 0;
              if (absorbed > threshold) {
                bite = plain
                  ? ((absorbed - threshold) / specificEnergy) * 1000
                  : biteUm(dose, absorptance, threshold, specificEnergy, left, pulseUm, thinUm);
              }
              if (bite < left) {
                // A film that stops all of a dose, and is far from cleared by it, lets nothing past.
                if (layer === 0 && coats > 0 && (left < opaqueUm || bite > NEARLY * left || !plain)) {
                  const share = left < opaqueUm ? left / opaqueUm : 1;
                  const used = clearingDose(threshold, specificEnergy, left, pulseUm) / absorptance;
                  excess += dose - share * Math.min(dose, used);
                }
                depth += bite;
                break;
              }
              const share = left < opaqueUm ? left / opaqueUm : 1;
              const used = clearingDose(threshold, specificEnergy, left, pulseUm) / absorptance;
              const past = dose - share * Math.min(dose, used);
              let price = used;
              if (!plain) {
                const thick = thickDepthUm(left, thinUm, lostShare(absorbed, threshold));
                price = clearingDose(threshold, specificEnergy, thick, pulseUm) / absorptance;
              }
              if (layer === 0) excess += past;
              dose = Math.min(past, 3 * (dose - price));
              depth = bottom;
              layer++;
              row += LAYER_VALUES;
              if (layer < coats) bottom += thickness[layer * plane + here];
              const heavy = layer < coats ? 1 : woodDensity;
              absorptance = layer < coats ? layers[row] : woodAbsorptance;
              threshold = layers[row + 1] * cold * heavy;
              specificEnergy = layers[row + 2] * heavy;
              pulseUm = layers[row + 3];
              thinUm = layers[row + 4];
              plain = pulseUm <= 0 && thinUm <= 0;
              opaqueUm = opaqueDepthUm(threshold, specificEnergy, pulseUm);
            }
          }
          depthUm[at] = depth;
          excessDose[at] = excess;
        }
      }
    }
  }
  return { depthUm, excess: excessDose };
}
