/** Where the CIE formula turns from a straight line to a cube root, (6/29)³, and the slope of the line over 100, (29/3)³/100. */
const KNEE = 216 / 24389;
const SLOPE = 24389 / 2700;

/**
 * Lightness (CIE L* / 100, 0–1) of a luminance (CIE Y over that of white, 0–1). Values outside 0–1 are taken as 0 or 1, NaN as 0.
 * Source: CIE 15:2018, 8.2.1.1. Test: Y 0.18 has L* 49.496.
 */
export function luminanceToLightness(luminance: number): number {
  if (!(luminance > 0)) return 0;
  if (luminance >= 1) return 1;
  return luminance > KNEE ? 1.16 * Math.cbrt(luminance) - 0.16 : luminance * SLOPE;
}

/** Luminance (0–1) of a lightness (CIE L* / 100, 0–1): the inverse of `luminanceToLightness`, with the same edges. */
export function lightnessToLuminance(lightness: number): number {
  if (!(lightness > 0)) return 0;
  if (lightness >= 1) return 1;
  if (lightness <= 0.08) return lightness / SLOPE;
  const root = (lightness + 0.16) / 1.16;
  return root * root * root;
}

const CELLS = 65536;
let table: Float32Array | undefined;

/** Lightness of many luminances by a table with straight lines between its entries; within 1e-6 of the formula. */
export function luminancesToLightnesses(luminances: Float32Array): Float32Array {
  const out = new Float32Array(luminances.length);
  table ??= Float32Array.from({ length: CELLS + 1 }, (_, i) => luminanceToLightness(i / CELLS));
  for (let i = 0; i < luminances.length; i++) {
    const at = luminances[i] * CELLS;
    if (at > 0 && at < CELLS) {
      const cell = at | 0;
      out[i] = table[cell] + (table[cell + 1] - table[cell]) * (at - cell);
    } else {
      out[i] = at >= CELLS ? 1 : 0;
    }
  }
  return out;
}
