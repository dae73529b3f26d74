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
