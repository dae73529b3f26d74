import type { Plane, RasterPlace } from '../kernels/contract.ts';
import type { PatchGrid } from './strip-task.ts';

/** Cell of the raster's grid that a burned cell stands for: patches lie side by side in the strip, film after film, without margins. */
export function rasterCell(patches: PatchGrid, x: number, y: number): { x: number; y: number } {
  const { dots, margin, across } = patches;
  const side = dots + 2 * margin;
  const patch = Math.floor(x / dots);
  return {
    x: (patch % across) * side + margin + (x % dots),
    y: Math.floor(patch / across) * side + margin + y,
  };
}

/**
 * What of a window's exposure reaches the middles of patches, put side by side as their cells are: the kernel then burns just what is
 * measured, and its inputs have the same sizes whatever the pass. For rasters that have a dot for each cell.
 * @param halfTaps rows to either side whose beam reaches a cell.
 */
export function packExposure(
  exposure: Plane,
  place: RasterPlace,
  halfTaps: number,
  patches: PatchGrid,
): { exposure: Plane; place: RasterPlace } {
  const { dots, across, down } = patches;
  const width = dots * across * down;
  const height = dots + 2 * halfTaps;
  const data = new Float32Array(width * height);
  for (let x = 0; x < width; x += dots) {
    const cell = rasterCell(patches, x, 0);
    const column = Math.round(place.columnOrigin) + cell.x;
    const row = Math.floor(place.rowOrigin) - halfTaps + cell.y;
    for (let y = 0; y < height; y++) {
      const from = (row + y) * exposure.width + column;
      data.set(exposure.data.subarray(from, from + dots), y * width + x);
    }
  }
  const rowOrigin = halfTaps + place.rowOrigin - Math.floor(place.rowOrigin);
  return { exposure: { width, height, data }, place: { ...place, rowOrigin, columnOrigin: 0 } };
}
