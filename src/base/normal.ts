/** Share of a standard normal distribution below z. erfc after Abramowitz & Stegun 7.1.26, |error| < 1.5e-7 (value from memory). */
export function normalShareBelow(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const series = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
  const upper = 0.5 * series * Math.exp(-x * x);
  return z < 0 ? upper : 1 - upper;
}

/** The z below which a share lies, by bisection; shares beyond ±6 end there. */
export function normalQuantile(share: number): number {
  let low = -6;
  let high = 6;
  for (let i = 0; i < 44; i++) {
    const middle = (low + high) / 2;
    if (normalShareBelow(middle) < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
