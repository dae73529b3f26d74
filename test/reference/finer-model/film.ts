/** A film that varies smoothly from place to place: waves of random direction and phase (W. Rice's sum of sines), mean 1. */
export type FilmField = (xMm: number, yMm: number) => number;

/** A sequence of numbers from 0 to 1 (S. K. Park and K. W. Miller, Commun. ACM 31, 1192, 1988; value from memory). */
export function luck(seed: number): () => number {
  let state = ((seed * 48271) % 2147483647) + 1;
  for (let i = 0; i < 8; i++) state = (state * 48271) % 2147483647;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}

/** A normal number (Box and Muller). */
export const normal = (next: () => number): number =>
  Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next());

const WAVES = 40;

/** `slow` and `fine` are standard deviations over the mean, `scaleMm` the wave lengths about which they lie. */
export function createFilm(
  seed: number,
  slow: number,
  slowScaleMm: number,
  fine: number,
  fineScaleMm: number,
): FilmField {
  const next = luck(seed);
  const waves = [[slow, slowScaleMm] as const, [fine, fineScaleMm] as const].flatMap(([deviation, scale]) =>
    Array.from({ length: WAVES }, () => {
      const length = scale * Math.exp(0.5 * normal(next));
      const turn = 2 * Math.PI * next();
      return [
        deviation * Math.sqrt(2 / WAVES),
        (2 * Math.PI * Math.cos(turn)) / length,
        (2 * Math.PI * Math.sin(turn)) / length,
        2 * Math.PI * next(),
      ];
    }),
  );
  return (xMm, yMm) => {
    let sum = 1;
    for (const [height, kx, ky, phase] of waves) sum += height * Math.sin(kx * xMm + ky * yMm + phase);
    return Math.max(0.05, sum);
  };
}
