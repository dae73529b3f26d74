import { findPercentiles } from './percentiles.ts';
import { askAtBand, type ShouldStop } from './stop.ts';

export interface FadeOptions {
  /** Share of the result against the picture as it was, 0–1. */
  readonly amount: number;
  /** Shares of the picture that may become plain black and plain white, 0–0.5. */
  readonly blackShare: number;
  readonly whiteShare: number;
  /**
   * 1: the middle tone (median) keeps its lightness; 0: it keeps its place between black and white point, as the stretch alone has
   * it; between: between.
   */
  readonly keepMiddle: number;
  readonly shouldStop?: ShouldStop;
}

export const FADE_DEFAULTS: FadeOptions = { amount: 1, blackShare: 0.002, whiteShare: 0.002, keepMiddle: 1 };

/** What was found, to be shown: lightness 0–1. */
export interface FadePoints {
  readonly black: number;
  readonly white: number;
  readonly middle: number;
  /** The middle tone between black and white point is raised to 1 / gamma: above 1 lightens. 0.4–2.5. */
  readonly gamma: number;
}

/** Black and white point closer than this are a flat picture, of which nothing is made. */
const FLAT = 0.02;
const GAMMA_LIMIT = 2.5;

/**
 * Finds the points of a faded picture. For lightness x the repair is y = ((x − black) / (white − black))^(1/gamma), held in 0–1,
 * and gamma such that the middle tone comes out where it is wanted. Common practice (levels), no published source.
 * Test: a planted fade (test/unit/repair-tones.test.ts). A flat picture gets points 0 and 1 and gamma 1, which change nothing.
 */
export function findFade(
  plane: Float32Array,
  options: Partial<FadeOptions> = {},
  mask: Uint8Array | null = null,
): FadePoints {
  const { blackShare, whiteShare, keepMiddle } = { ...FADE_DEFAULTS, ...options };
  const [black, middle, white] = findPercentiles(plane, [blackShare, 0.5, 1 - whiteShare], mask);
  if (!(white - black >= FLAT)) return { black: 0, white: 1, middle, gamma: 1 };
  const stretched = Math.min(0.98, Math.max(0.02, (middle - black) / (white - black)));
  const wanted = Math.min(0.98, Math.max(0.02, stretched + keepMiddle * (middle - stretched)));
  const gamma = Math.log(stretched) / Math.log(wanted);
  return { black, white, middle, gamma: Math.min(GAMMA_LIMIT, Math.max(1 / GAMMA_LIMIT, gamma)) };
}

const CELLS = 8192;

/**
 * Gives a faded picture its black and white back.
 * @param plane lightness 0–1, row-major; not-a-number counts as 0.
 * @param mask dots with 0 do not count in the search.
 * @returns a new plane and the points found.
 * @throws Cancelled.
 */
export function repairFade(
  plane: Float32Array,
  width: number,
  height: number,
  options: Partial<FadeOptions> = {},
  mask: Uint8Array | null = null,
): { plane: Float32Array; points: FadePoints } {
  const { amount, shouldStop } = { ...FADE_DEFAULTS, ...options };
  const points = findFade(plane, options, mask);
  const table = Float32Array.from({ length: CELLS + 1 }, (_, i) => {
    const x = i / CELLS;
    return x + amount * (liftFade(x, points) - x);
  });
  const out = new Float32Array(plane.length);
  for (let y = 0; y < height; y++) {
    askAtBand(shouldStop, y);
    for (let i = y * width, end = i + width; i < end; i++) {
      const place = plane[i] * CELLS;
      const cell = place | 0;
      if (place > 0 && place < CELLS) out[i] = table[cell] + (table[cell + 1] - table[cell]) * (place - cell);
      else out[i] = place >= CELLS ? table[CELLS] : table[0];
    }
  }
  return { plane: out, points };
}

/** The repair of one lightness. */
export function liftFade(lightness: number, { black, white, gamma }: FadePoints): number {
  const inside = Math.min(1, Math.max(0, (lightness - black) / (white - black)));
  return inside ** (1 / gamma);
}
