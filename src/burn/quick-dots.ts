import { ALL_DARK, ALL_LIGHT, type DotModel, patternBit } from './dot-model.ts';
import { aimAt, type DotWork } from './dot-work.ts';

/** Dots decided before one on which depends what it brings: of the row before, three to either side; of its own, four behind. */
const ASIDE = 3;
const BEHIND = 4;
const CONTEXTS = 1 << (2 * ASIDE + 1 + BEHIND);

/**
 * Light that a dot brings if it is set, by those decided before it: what its cell and all those about it come out as with it, less without it,
 * as long as nothing that comes after is light. Added up in the order in which dots are decided, this is all the light there is.
 * `backwards`: the row is decided from its end to its start.
 */
function gains(own: Float32Array, beside: Float32Array, backwards: boolean): Float32Array {
  const out = new Float32Array(CONTEXTS);
  const way = backwards ? -1 : 1;
  /** Where each dot of the context lies, the one to be decided at 0. */
  const places: (readonly [x: number, y: number])[] = [];
  for (let k = 1; k <= BEHIND; k++) places.push([-way * k, 0]);
  for (let k = -ASIDE; k <= ASIDE; k++) places.push([way * k, -1]);
  const patterns = new Uint16Array(CONTEXTS);
  for (let y = -1; y <= 1; y++) {
    const table = y === 0 ? own : beside;
    for (let x = -2; x <= 2; x++) {
      const bits = places.map(([dotX, dotY]) =>
        Math.abs(x - dotX) <= 2 && Math.abs(y - dotY) <= 1 ? patternBit(x - dotX, y - dotY) : 0,
      );
      const dot = patternBit(x, y);
      for (let context = 0; context < CONTEXTS; context++) {
        // The context without its last dot comes before it.
        const rest = context & (context - 1);
        const pattern = context ? patterns[rest] | bits[31 - Math.clz32(context ^ rest)] : 0;
        patterns[context] = pattern;
        out[context] += table[pattern | dot] - table[pattern];
      }
    }
  }
  return out;
}

/** How a row is decided, by direction of the burn, warmth and way of deciding. */
interface Rule {
  /** −1 where light counts as dark; then so it does in all that follows. */
  readonly way: 1 | -1;
  readonly gain: Float32Array;
  /** Light that must be missing for a dot to be set. */
  readonly least: Float32Array;
  readonly dark: number;
  readonly light: number;
}

/**
 * How far a dot is put off for how much the burn's own errors move it, beside half of what it brings; against a dot alone, so that dots which
 * grow others are set before those. Measured: less leaves more to the film, more makes grain coarser (test/bench/dots).
 */
const STEADY = 2.3;

function rulesOf({ luminance, sway, warmthsK }: DotModel): Rule[] {
  const warmths = warmthsK.length;
  return luminance.flatMap((own, i) => {
    const direction = Math.floor(i / warmths);
    const other = sway.length - 1 - direction;
    const beside = luminance[other * warmths + (i % warmths)];
    // Where powers are the wrong way round for the stack, a dot at the light end takes light away.
    const way = own[ALL_LIGHT] < own[ALL_DARK] ? -1 : 1;
    const dark = (way * (own[ALL_DARK] + beside[ALL_DARK])) / 2;
    const light = (way * (own[ALL_LIGHT] + beside[ALL_LIGHT])) / 2;
    return [false, true].map((backwards): Rule => {
      const gain = gains(own, beside, backwards).map((value) => way * value);
      const moved = gains(sway[direction], sway[other], backwards).map((value) => way * value);
      const alone = gain[0] > 0 ? moved[0] / gain[0] : 0;
      const least = gain.map((value, context) => value / 2 + STEADY * (moved[context] - alone * value));
      return { way, gain, least, dark, light };
    });
  });
}

/** Shares of an error that go on to the next dot, and to the row below: under the dot, and behind it. */
const AHEAD = 1 / 2;
const BELOW = 1 / 4;

/** Rows that are decided before the first one. */
const RUN_IN = 16;

/** Steps of it fill a line most evenly. */
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * Error diffusion against what the burn makes of the dots: each is set where more light is missing than half of what it would bring, and what is
 * then missing or too much goes on to its neighbours. Rows are decided there and back.
 */
export function quickDots(work: DotWork): Uint8Array {
  const { model, width, height, mask, twoWay, warmth, parts, fires } = work;
  const rules = rulesOf(model);
  const warmths = model.warmthsK.length;
  const levels = new Uint8Array(width * height);
  let errors = new Float64Array(width + 2);
  for (let x = 0; x < width; x++) errors[x + 1] = rules[0].gain[0] * (((x * GOLDEN) % 1) - 0.5);
  let below = new Float64Array(width + 2);
  let above = new Uint8Array(width + 2 * ASIDE);
  let row = new Uint8Array(width + 2 * ASIDE);
  let turned = 0;
  // Rows like the first go before it: else dots of a pale or a dark area begin all at once, in a line.
  for (let count = -RUN_IN; count < height; count++) {
    const y = Math.max(0, count);
    const backwards = count & 1;
    const step = backwards ? -1 : 1;
    const base = y * width;
    below.fill(0);
    row.fill(0);
    let travelled = false;
    let behind = 0;
    let ahead = 0;
    let x = backwards ? width - 1 : 0;
    let window = 0;
    for (let k = -ASIDE; k < ASIDE; k++) {
      const at = x + step * k + ASIDE;
      if (at >= 0 && at < above.length) window |= above[at] << (k + ASIDE + 1);
    }
    let part = -1;
    let rule = rules[0];
    for (let i = 0; i < width; i++, x += step) {
      const found = Math.floor((x * parts) / width);
      if (found !== part) {
        part = found;
        rule = rules[2 * (turned * warmths + warmth[y * parts + part]) + backwards];
      }
      window = (window >> 1) | (above[x + step * ASIDE + ASIDE] << (2 * ASIDE));
      let lit: 0 | 1 = 0;
      if (mask[base + x] > 0) {
        const wanted = Math.min(rule.light, Math.max(rule.dark, rule.way * aimAt(work, base + x)));
        const missing = wanted - rule.dark + errors[x + 1] + ahead;
        const context = (window << BEHIND) | behind;
        if (missing > rule.least[context]) lit = 1;
        const error = lit ? missing - rule.gain[context] : missing;
        ahead = AHEAD * error;
        below[x + 1] += BELOW * error;
        below[x + 1 - step] += BELOW * error;
      } else {
        ahead = 0;
      }
      behind = ((behind << 1) | lit) & ((1 << BEHIND) - 1);
      row[x + ASIDE] = lit;
      levels[base + x] = 255 * lit;
      travelled ||= mask[base + x] > 0 && fires[lit];
    }
    if (twoWay && travelled) turned = 1 - turned;
    if (count < 0) turned = 0;
    [errors, below] = [below, errors];
    [above, row] = [row, above];
  }
  return levels;
}
