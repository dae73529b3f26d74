/** Stretches heights to 0…1 in place. */
export function stretchHeights(height: Float32Array): Float32Array {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const h of height) {
    low = Math.min(low, h);
    high = Math.max(high, h);
  }
  for (let i = 0; i < height.length; i++) height[i] = (height[i] - low) / (high - low);
  return height;
}
