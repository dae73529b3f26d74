/**
 * How many steps (along sides) each cell of a mask is away from the nearest cell that is 0 or from beyond the grid: 0 for cells that
 * are 0 themselves, 1 for cells at the edge. Row-major.
 */
export function maskDepth(mask: Uint8Array, width: number, height: number): Int32Array {
  const depth = new Int32Array(mask.length);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      depth[at] = 1 + Math.min(x > 0 ? depth[at - 1] : 0, y > 0 ? depth[at - width] : 0);
    }
  }
  for (let y = height - 1; y >= 0; y--) {
    for (let x = width - 1; x >= 0; x--) {
      const at = y * width + x;
      if (mask[at] === 0) continue;
      const right = x < width - 1 ? depth[at + 1] : 0;
      const below = y < height - 1 ? depth[at + width] : 0;
      depth[at] = Math.min(depth[at], 1 + right, 1 + below);
    }
  }
  return depth;
}
