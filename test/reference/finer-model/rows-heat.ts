/**
 * How warm a row finds the wood, K, by the plain sum over all rows before it and all parts of them: each part a line laid at once on a half-space
 * (H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, §10.3, integrated along the part; value from memory).
 * `heat[row · bins + bin]`: J/mm that stay; basswood at 8 % moisture.
 */
export interface RowsHeat {
  readonly heat: Float64Array;
  readonly bins: number;
  readonly binMm: number;
  readonly pitchMm: number;
  readonly periodS: number;
  readonly radiusMm: number;
}

const CONDUCTIVITY = 1.01e-4;
const DIFFUSIVITY = 0.17;
/** Older rows count in groups. */
const ALONE = 60;
const GROUP = 6;

export function warmthOfRows({ heat, bins, binMm, pitchMm, periodS, radiusMm }: RowsHeat): Float64Array {
  const rows = heat.length / bins;
  const out = new Float64Array(heat.length);
  const gains: { n: number; gain: number; part: Float64Array }[] = [];
  for (let n = 1; n < rows; n += n < ALONE ? 1 : GROUP) {
    const ageS = n * periodS;
    const spread = 2 * DIFFUSIVITY * ageS;
    const across = spread + 0.25 * radiusMm * radiusMm;
    const away = n * pitchMm;
    const gain =
      ((DIFFUSIVITY / CONDUCTIVITY) * Math.exp((-away * away) / (2 * across))) /
      (Math.sqrt(2 * Math.PI * across) * Math.sqrt(Math.PI * DIFFUSIVITY * ageS));
    const part = Float64Array.from({ length: bins }, (_, d) => {
      const reach = Math.sqrt(2 * spread);
      return 0.5 * (erf(((d + 0.5) * binMm) / reach) - erf(((d - 0.5) * binMm) / reach));
    });
    gains.push({ n, gain: gain * (n < ALONE ? 1 : GROUP), part });
  }
  for (let row = 1; row < rows; row++) {
    for (const { n, gain, part } of gains) {
      if (n > row) break;
      const from = (row - n) * bins;
      for (let bin = 0; bin < bins; bin++) {
        let sum = 0;
        for (let other = 0; other < bins; other++) sum += heat[from + other] * part[Math.abs(bin - other)];
        out[row * bins + bin] += gain * sum;
      }
    }
  }
  return out;
}

/** Abramowitz and Stegun 7.1.26, off by at most 1.5e-7 (value from memory). */
function erf(x: number): number {
  const t = 1 / (1 + 0.3275911 * Math.abs(x));
  const sum = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  return Math.sign(x) * (1 - sum * Math.exp(-x * x));
}
