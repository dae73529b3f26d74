import { createGenerator } from '../../base/random/generator.ts';

/** Growth rings from the pith outwards, tabulated over the radius. */
export interface Rings {
  /** Latewood share 0–1 at `i · RING_STEP_MM`: 0 in earlywood, 1 at the end of a ring. */
  readonly late: Float32Array;
  /** How dark this year's wood is against others', about −1 … 1. */
  readonly year: Float32Array;
}

export const RING_STEP_MM = 0.05;

/** Spread and memory of ring widths: lognormal, CV 0.35, first-order autocorrelation 0.5 (values from memory). */
const WIDTH_SPREAD = 0.35;
const WIDTH_MEMORY = 0.5;
/** The last part of a ring that is latewood; narrow in diffuse-porous woods (value from memory). */
const LATE_PART = 0.22;

/** Rings of a tree out to a radius. Seeded: the same tree every time. */
export function growRings(seed: number, meanWidthMm: number, radiusMm: number): Rings {
  const random = createGenerator(seed >>> 0);
  const steps = Math.ceil(radiusMm / RING_STEP_MM) + 2;
  const late = new Float32Array(steps);
  const year = new Float32Array(steps);
  const innovation = Math.sqrt(1 - WIDTH_MEMORY * WIDTH_MEMORY);
  let state = random.nextNormal();
  let start = 0;
  let i = 0;
  while (i < steps) {
    state = WIDTH_MEMORY * state + innovation * random.nextNormal();
    const width = Math.max(0.15, meanWidthMm * Math.exp(WIDTH_SPREAD * state - 0.5 * WIDTH_SPREAD ** 2));
    const shade = 0.6 * random.nextNormal();
    for (; i < steps && i * RING_STEP_MM < start + width; i++) {
      const place = (i * RING_STEP_MM - start) / width;
      late[i] = lateness(place);
      year[i] = shade;
    }
    start += width;
  }
  return { late, year };
}

/** Rises slowly over the ring, steeply at its end, and falls at once at the next spring. */
function lateness(place: number): number {
  const rise = Math.max(0, (place - (1 - LATE_PART)) / LATE_PART);
  const spring = Math.min(1, place / 0.05);
  return spring * (0.25 * place + 0.75 * rise * rise * (3 - 2 * rise)) + (1 - spring) * 0.8 * (1 - spring);
}
