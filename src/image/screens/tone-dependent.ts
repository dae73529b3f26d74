import { createGenerator } from '../../base/random/generator.ts';
import type { RowSource } from '../picture.ts';

/** Weights of a tone: along the row, back below and straight below. They sum up to 1. */
type Weights = readonly [ahead: number, belowBehind: number, below: number];

/**
 * Weights at some tones of 0–127, as integers of any sum; between them weights are interpolated, and tones from 128 are mirrored.
 * Source: B. Zhou, X. Fang, "Improving mid-tone quality of variable-coefficient error diffusion", ACM Trans. Graph. 22(3), 2003 (the key
 * levels and numbers of their own program), after V. Ostromoukhov, "A simple and efficient error-diffusion algorithm", SIGGRAPH 2001.
 */
const KEY_WEIGHTS: readonly (readonly [tone: number, ...weights: Weights])[] = [
  [0, 13, 0, 5],
  [1, 1300249, 0, 499250],
  [2, 214114, 287, 99357],
  [3, 351854, 0, 199965],
  [4, 801100, 0, 490999],
  [10, 704075, 297466, 303694],
  [22, 46613, 31917, 21469],
  [32, 47482, 30617, 21900],
  [40, 45959, 24089, 29950],
  [44, 43024, 42131, 14826],
  [64, 36411, 43219, 20369],
  [72, 38477, 53843, 7678],
  [77, 40503, 51547, 7948],
  [85, 35865, 34108, 30026],
  [95, 34117, 36899, 28983],
  [102, 35132, 36059, 28807],
  [107, 16477, 18810, 14712],
  [112, 33360, 37954, 28685],
  [127, 35269, 36066, 28664],
];

/** How far the threshold is thrown about at some tones, as a share of what it may be; interpolated and mirrored likewise. Same source. */
const KEY_STRENGTHS: readonly (readonly [tone: number, strength: number])[] = [
  [0, 0],
  [44, 0.34],
  [64, 0.5],
  [80, 1],
  [85, 1],
  [95, 0.17],
  [102, 0.5],
  [107, 0.7],
  [112, 0.79],
  [127, 1],
];

const TONES = 256;

/** Values at all tones between those of the keys. */
function atTones(keys: readonly (readonly [tone: number, value: number])[]): Float64Array {
  return Float64Array.from({ length: TONES }, (_, tone) => {
    const folded = Math.min(tone, TONES - 1 - tone);
    const next = keys.findIndex(([key]) => key >= folded);
    const [to, high] = keys[next];
    if (next === 0 || to === folded) return high;
    const [from, low] = keys[next - 1];
    return low + ((high - low) * (folded - from)) / (to - from);
  });
}

const weightOf = (which: 0 | 1 | 2): Float64Array =>
  atTones(
    KEY_WEIGHTS.map(([tone, ...weights]) => [tone, weights[which] / weights.reduce((sum, weight) => sum + weight)]),
  );

/** The weights of a tone, 0–255. */
export const toneWeights = (tone: number): Weights => [AHEAD[tone], BEHIND[tone], BELOW[tone]];

const AHEAD = weightOf(0);
const BEHIND = weightOf(1);
const BELOW = weightOf(2);
const STRENGTH = atTones(KEY_STRENGTHS);

/** What throws the threshold about. */
const SEED = 2003;

/**
 * Error diffusion whose weights and threshold go by the tone, so that no tone falls into worms or checks. A dot is 255 where its value and the
 * errors it has received are at least 0.5, or up to as much again by chance; else 0. Where the mask is 0 there is no dot: it stays 0,
 * receives nothing and hands nothing on.
 */
export function diffuseByTone({ width, height, mask, readRow }: RowSource, serpentine: boolean): Uint8Array {
  const out = new Uint8Array(width * height);
  const random = createGenerator(SEED);
  const values = new Float32Array(width);
  // One dot more at either end takes what falls beside the picture.
  let errors = new Float64Array(width + 2);
  let below = new Float64Array(width + 2);
  for (let y = 0; y < height; y++) {
    readRow(y, values);
    below.fill(0);
    const step = serpentine && y % 2 === 1 ? -1 : 1;
    for (let i = 0, x = step > 0 ? 0 : width - 1; i < width; i++, x += step) {
      const chance = random.nextUnit();
      if (mask !== null && mask[y * width + x] === 0) continue;
      const tone = Math.round((TONES - 1) * Math.min(1, Math.max(0, values[x])));
      const value = values[x] + errors[x + 1];
      const light = +(value >= 0.5 + 0.5 * chance * STRENGTH[tone]);
      out[y * width + x] = 255 * light;
      const error = value - light;
      errors[x + 1 + step] += error * AHEAD[tone];
      below[x + 1 - step] += error * BEHIND[tone];
      below[x + 1] += error * BELOW[tone];
    }
    [errors, below] = [below, errors];
  }
  return out;
}
