interface VignetteOptions {
  readonly shape: 'oval' | 'rectangle';
  /** Width over which the picture falls off, mm, ≥ 0: 0 at the edge, whole so far inside it. */
  readonly fallOffMm: number;
  /** Distance of the edge from the picture's own edge, mm. */
  readonly insetMm: number;
}

const VIGNETTE_DEFAULTS: VignetteOptions = { shape: 'oval', fallOffMm: 10, insetMm: 0 };

/**
 * Lets a picture fall off towards the edge of its oval or rectangle: the mask times a smooth step 3t² − 2t³ of the distance from the
 * edge over the fall-off. Nothing burns outside. Screens take what lies between as the same share of light, so on a dark
 * stack the picture sinks into the coat's own tone.
 * Source: the smooth step of computer graphics (textbook). Test: test/unit/mask-vignette.test.ts.
 * @param mask what there is, row-major; 255 everywhere if null. @param pitchMm distance of dots, > 0.
 * @returns a new mask.
 * @throws RangeError if the pitch is not positive or a width is negative.
 */
export function applyVignette(
  mask: Uint8Array | null,
  width: number,
  height: number,
  pitchMm: number,
  options: Partial<VignetteOptions> = {},
): Uint8Array {
  const { shape, fallOffMm, insetMm } = { ...VIGNETTE_DEFAULTS, ...options };
  if (!(pitchMm > 0 && fallOffMm >= 0 && insetMm >= 0)) {
    throw new RangeError(`a vignette needs a pitch and widths, got ${pitchMm}, ${fallOffMm} and ${insetMm} mm`);
  }
  const out = mask === null ? new Uint8Array(width * height).fill(255) : mask.slice();
  const a = width / 2 - insetMm / pitchMm;
  const b = height / 2 - insetMm / pitchMm;
  const fallOff = fallOffMm / pitchMm;
  if (!(a > 0 && b > 0)) return out.fill(0);
  const distance = shape === 'oval' ? ovalDistance(a, b, fallOff) : (x: number, y: number) => Math.min(a - x, b - y);
  // The four quarters are alike.
  for (let y = 0; y < Math.ceil(height / 2); y++) {
    const fromMiddleY = height / 2 - (y + 0.5);
    for (let x = 0; x < Math.ceil(width / 2); x++) {
      const inside = distance(width / 2 - (x + 0.5), fromMiddleY);
      if (inside >= fallOff && inside >= 0) continue;
      const share = smoothStep(inside > 0 ? inside / fallOff : 0);
      const [right, below] = [width - 1 - x, height - 1 - y];
      fade(out, y * width + x, share);
      if (right !== x) fade(out, y * width + right, share);
      if (below === y) continue;
      fade(out, below * width + x, share);
      if (right !== x) fade(out, below * width + right, share);
    }
  }
  return out;
}

/** 0 up to 0, 1 from 1 on, smooth in between. */
export function smoothStep(share: number): number {
  const t = Math.min(1, Math.max(0, share));
  return t * t * (3 - 2 * t);
}

function fade(mask: Uint8Array, i: number, share: number): void {
  mask[i] = Math.round(mask[i] * share);
}

/** Only near the line is the distance worked out: a place on the oval s times as large lies at least (1 − s) · min(a, b) inside. */
function ovalDistance(a: number, b: number, enough: number): (x: number, y: number) => number {
  const shorter = Math.min(a, b);
  return (x, y) => {
    const scale = Math.sqrt((x / a) ** 2 + (y / b) ** 2);
    const least = (1 - scale) * shorter;
    if (scale > 1) return -1;
    return least >= enough ? least : ellipseDistance(x, y, a, b);
  };
}

/** Rounds after which the place on the ellipse is right to within 1e-6 of its size for ovals of up to 1 : 4. */
const ROUNDS = 6;

/**
 * Distance of a place inside an ellipse from its line, by going round with the circle of curvature: the place's direction from the
 * centre of curvature under the last guess gives the next one.
 * Source: the evolute of the ellipse, x = (a² − b²)/a · cos³t, y = (b² − a²)/b · sin³t (textbook). Test: against a search over the
 * line (test/unit/mask-vignette.test.ts).
 * @param x, y from the centre; only their size matters. @param a, b half axes along x and y, > 0.
 * @returns ≥ 0; for places outside the distance counts as negative.
 */
export function ellipseDistance(x: number, y: number, a: number, b: number): number {
  const px = Math.abs(x);
  const py = Math.abs(y);
  let cosine = Math.SQRT1_2;
  let sine = Math.SQRT1_2;
  const evolute = a * a - b * b;
  for (let round = 0; round < ROUNDS; round++) {
    const ex = (evolute * cosine * cosine * cosine) / a;
    const ey = (-evolute * sine * sine * sine) / b;
    const rx = a * cosine - ex;
    const ry = b * sine - ey;
    const qx = px - ex;
    const qy = py - ey;
    const radius = Math.sqrt(rx * rx + ry * ry);
    const reach = Math.sqrt(qx * qx + qy * qy);
    // In the centre of curvature the line is equally far in all directions that count.
    if (reach === 0) break;
    cosine = Math.min(1, Math.max(0, ((qx * radius) / reach + ex) / a));
    sine = Math.min(1, Math.max(0, ((qy * radius) / reach + ey) / b));
    const length = Math.sqrt(cosine * cosine + sine * sine) || 1;
    cosine /= length;
    sine /= length;
  }
  const dx = px - a * cosine;
  const dy = py - b * sine;
  const distance = Math.sqrt(dx * dx + dy * dy);
  return (px / a) ** 2 + (py / b) ** 2 > 1 ? -distance : distance;
}
