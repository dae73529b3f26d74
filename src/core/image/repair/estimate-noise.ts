/**
 * Standard deviation of a picture's noise: the mean size of what a difference of two Laplacians leaves, which is blind to flat,
 * sloping and evenly curved tones. Fine texture counts as noise.
 * Equation: σ = √(π/2) / (6 (W − 2)(H − 2)) · Σ |I ∗ N|, N = [1 −2 1; −2 4 −2; 1 −2 1].
 * Source: J. Immerkær, "Fast noise variance estimation", Computer Vision and Image Understanding 64(2), 1996.
 * Test: planted noise (test/unit/repair-denoise.test.ts).
 * @returns lightness 0–1; 0 for a picture of fewer than 3 × 3 dots.
 */
export function estimateNoise(plane: Float32Array, width: number, height: number): number {
  if (width < 3 || height < 3) return 0;
  let sum = 0;
  for (let y = 1; y < height - 1; y++) {
    for (let x = 1, i = y * width + 1; x < width - 1; x++, i++) {
      const corners = plane[i - width - 1] + plane[i - width + 1] + plane[i + width - 1] + plane[i + width + 1];
      const sides = plane[i - width] + plane[i + width] + plane[i - 1] + plane[i + 1];
      sum += Math.abs(corners - 2 * sides + 4 * plane[i]);
    }
  }
  return (Math.sqrt(Math.PI / 2) * sum) / (6 * (width - 2) * (height - 2));
}
