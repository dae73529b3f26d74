/** Where the layers of a rim end, in depths (steps, with fractions) below the outline. */
export interface LayerSteps {
  /** Inner edge of the bark: the start of the dark rim; the same as `wood` where no rim can be told from the bark. */
  readonly bark: number;
  /** Start of the light wood. */
  readonly wood: number;
}

/** The wood must be lighter than what lies outside it by this much in L*; rings of most woods differ by less. */
const LEAST_STEP = 9;
/** And by this many times what is left over by three flat layers. */
const LEAST_RATIO = 2;
/** Bark and rim must differ by this much in L* to be told apart. */
const LEAST_RIM = 4;
/** Depths either side of a border that are blurred over from one layer to the next and not held against either. */
const GUARD = 2;
/** A layer is at least this many depths, its blurred ends included: three of its own, lest the blur itself passes for a layer. */
const THINNEST = 2 * GUARD + 3;

/**
 * Fits bark, dark rim and light wood to a profile of lightness: three flat layers whose borders are chosen so that the squares left
 * over are least, the second border being a rise. Borders between depths come from where the profile passes half-way.
 * @param lightness L* by depth, outside first. Null if no clear step to lighter wood is there.
 * Test: test/unit/slab-zones.test.ts.
 */
export function fitLayers(lightness: Float64Array): LayerSteps | null {
  const n = lightness.length;
  const sum = new Float64Array(n + 1);
  const square = new Float64Array(n + 1);
  for (let k = 0; k < n; k++) {
    sum[k + 1] = sum[k] + lightness[k];
    square[k + 1] = square[k] + lightness[k] ** 2;
  }
  const mean = (from: number, to: number): number => (sum[to] - sum[from]) / (to - from);
  const left = (from: number, to: number): number =>
    square[to] - square[from] - (sum[to] - sum[from]) ** 2 / (to - from);
  let best = Number.POSITIVE_INFINITY;
  let bark = 0;
  let wood = 0;
  for (let w = THINNEST; w <= n - THINNEST; w++) {
    const inner = left(w + GUARD, n);
    const light = mean(w + GUARD, n);
    for (let b = 0; b <= w - THINNEST; b = b === 0 ? THINNEST : b + 1) {
      // The outline itself is blurred too: the first depths are half table.
      const outer = b > 0 ? left(GUARD, b - GUARD) : 0;
      const cost = outer + left(b + GUARD, w - GUARD) + inner;
      if (cost < best && light - mean(b + GUARD, w - GUARD) >= LEAST_STEP) [best, bark, wood] = [cost, b, w];
    }
  }
  if (!Number.isFinite(best)) return null;
  const outside = mean(bark + GUARD, wood - GUARD);
  if (mean(wood + GUARD, n) - outside < LEAST_RATIO * Math.sqrt(best / n)) return null;
  const apart = bark > 0 && Math.abs(mean(GUARD, bark - GUARD) - outside) >= LEAST_RIM;
  // The half-way level lies between the rim's own middle and the wood just inside it.
  const rim = apart ? outside : mean(GUARD, wood - GUARD);
  const level = (rim + mean(wood + GUARD, Math.min(n, wood + 4 * GUARD))) / 2;
  const woodAt = passing(lightness, level, wood);
  if (!apart) return { bark: woodAt, wood: woodAt };
  const border = passing(lightness, (mean(GUARD, bark - GUARD) + rim) / 2, bark);
  return { bark: Math.min(border, woodAt), wood: woodAt };
}

/** Depth nearest to a border at which the profile passes a level, within four steps of it; the border itself if it does not. */
function passing(lightness: Float64Array, level: number, border: number): number {
  let best = border;
  let nearest = 2 * GUARD;
  for (let k = Math.max(0, border - 3 * GUARD); k < Math.min(lightness.length - 1, border + 2 * GUARD); k++) {
    const from = lightness[k];
    const to = lightness[k + 1];
    if (from === to || (from - level) * (to - level) > 0) continue;
    const at = k + 0.5 + (level - from) / (to - from);
    if (Math.abs(at - border) < nearest) {
      nearest = Math.abs(at - border);
      best = at;
    }
  }
  return best;
}
