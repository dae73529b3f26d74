/** Power of an even grey's dots by frequency, and how much it depends on the direction. */
export interface DotSpectrum {
  /** Cycles per dot in the middle of each ring. */
  readonly frequency: readonly number[];
  /** Radially averaged power over the variance of as many dots thrown at random: 1 everywhere for those. */
  readonly power: readonly number[];
  /** Variance of the power within a ring over its square, dB; 0 for a single estimate of what is the same in all directions. */
  readonly anisotropyDb: readonly number[];
}

/**
 * Radially averaged power spectrum and anisotropy of dots (0 and 1) in squares that lie side by side, averaged over them: R. Ulichney, "Dithering
 * with blue noise", Proc. IEEE 76(1) 56–79, 1988 (Bartlett's method: the mean of the squares' periodograms).
 */
export function dotSpectrum(squares: readonly Float32Array[], side: number): DotSpectrum {
  const mean = squares.reduce((sum, dots) => sum + dots.reduce((a, b) => a + b, 0), 0) / (squares.length * side * side);
  const variance = mean * (1 - mean);
  const power = new Float64Array(side * side);
  for (const dots of squares)
    periodogram(dots, side, mean).forEach((value, i) => {
      power[i] += value / (squares.length * variance);
    });
  const rings = Array.from({ length: side / 2 }, () => [] as number[]);
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) {
      const radius = Math.hypot(Math.min(x, side - x), Math.min(y, side - y));
      const ring = Math.round(radius) - 1;
      if (ring >= 0 && ring < rings.length) rings[ring].push(power[y * side + x]);
    }
  }
  const means = rings.map((values) => values.reduce((a, b) => a + b, 0) / values.length);
  return {
    frequency: rings.map((_, i) => (i + 1) / side),
    power: means,
    anisotropyDb: rings.map((values, i) => {
      const spread = values.reduce((sum, value) => sum + (value - means[i]) ** 2, 0) / (values.length - 1);
      return 10 * Math.log10((squares.length * spread) / means[i] ** 2);
    }),
  };
}

/** |DFT|² over the number of dots, row by row and then column by column. */
function periodogram(dots: Float32Array, side: number, mean: number): Float64Array {
  const cosine = Float64Array.from({ length: side }, (_, i) => Math.cos((2 * Math.PI * i) / side));
  const sine = Float64Array.from({ length: side }, (_, i) => Math.sin((2 * Math.PI * i) / side));
  const real = new Float64Array(side * side);
  const imaginary = new Float64Array(side * side);
  for (let y = 0; y < side; y++) {
    for (let u = 0; u < side; u++) {
      for (let x = 0; x < side; x++) {
        const value = dots[y * side + x] - mean;
        real[y * side + u] += value * cosine[(u * x) % side];
        imaginary[y * side + u] -= value * sine[(u * x) % side];
      }
    }
  }
  const out = new Float64Array(side * side);
  for (let u = 0; u < side; u++) {
    for (let v = 0; v < side; v++) {
      let [a, b] = [0, 0];
      for (let y = 0; y < side; y++) {
        const [c, s] = [cosine[(v * y) % side], sine[(v * y) % side]];
        a += real[y * side + u] * c + imaginary[y * side + u] * s;
        b += imaginary[y * side + u] * c - real[y * side + u] * s;
      }
      out[v * side + u] = (a * a + b * b) / (side * side);
    }
  }
  return out;
}
