import type { Plane, RasterPlace } from './kernel/contract.ts';
import type { PatchGrid } from './swath-task.ts';

/** Cell of the raster's grid that a burned cell stands for: patches lie side by side in the swath, film after film, without margins. */
export function rasterCell(patches: PatchGrid, x: number, y: number): { x: number; y: number } {
  const { dots, margin, across } = patches;
  const side = dots + 2 * margin;
  const patch = Math.floor(x / dots);
  return {
    x: (patch % across) * side + margin + (x % dots),
    y: Math.floor(patch / across) * side + margin + y,
  };
}

/** Whether a row of the window reaches the middle of any patch. Arguments as for `packExposure`. */
export function reachesPatches(
  row: number,
  place: RasterPlace,
  halfTaps: number,
  { dots, margin, down }: PatchGrid,
): boolean {
  const side = dots + 2 * margin;
  const from = row - (Math.floor(place.rowOrigin) - halfTaps + margin);
  const patch = Math.min(down - 1, Math.floor(from / side));
  return from >= 0 && from - patch * side < dots + 2 * halfTaps;
}

/**
 * What of a window's exposure reaches the middles of patches, put side by side as their cells are: the kernel then burns just what is
 * measured, and its inputs have the same sizes whatever the pass. For rasters that have a dot for each cell.
 * @param place in columns of the exposure. @param halfTaps rows to either side whose beam reaches a cell. @param perDot columns a dot.
 */
export function packExposure(
  exposure: Plane,
  place: RasterPlace,
  halfTaps: number,
  perDot: number,
  patches: PatchGrid,
): { exposure: Plane; place: RasterPlace } {
  const { dots, across, down } = patches;
  const length = dots * perDot;
  const width = length * across * down;
  const height = dots + 2 * halfTaps;
  const data = new Float32Array(width * height);
  const firstColumn = Math.round(place.columnOrigin - (perDot - 1) / 2);
  for (let patch = 0; patch < across * down; patch++) {
    const cell = rasterCell(patches, patch * dots, 0);
    const column = firstColumn + cell.x * perDot;
    const row = Math.floor(place.rowOrigin) - halfTaps + cell.y;
    for (let y = 0; y < height; y++) {
      const from = (row + y) * exposure.width + column;
      data.set(exposure.data.subarray(from, from + length), y * width + patch * length);
    }
  }
  const rowOrigin = halfTaps + place.rowOrigin - Math.floor(place.rowOrigin);
  return { exposure: { width, height, data }, place: { ...place, rowOrigin, columnOrigin: (perDot - 1) / 2 } };
}
