import { toHalfFloat } from '../../src/base/half-float.ts';
import type { SlabShape } from '../../src/render/mesh/outline.ts';
import { drawFace, type FaceMap, type FaceParts, type SurfaceInSwaths } from '../../src/render/model/face-map.ts';

export const SMALL_SLAB: SlabShape = {
  shape: 'oval',
  widthMm: 60,
  heightMm: 48,
  thicknessMm: 12,
  woodColor: [0.6, 0.5, 0.33],
};

/** An even surface in two swaths; `heightUm` of a cell by its column and row. */
export function evenSurface(
  width: number,
  height: number,
  pitchMm: number,
  rgba: readonly [number, number, number, number],
  heightUm: (x: number, y: number) => number = () => 0,
): SurfaceInSwaths {
  const stripOf = (y0: number, rows: number) => {
    const color = new Uint8Array(4 * width * rows);
    const relief = new Uint16Array(2 * width * rows);
    for (let i = 0; i < width * rows; i++) {
      color.set(rgba, 4 * i);
      relief[2 * i] = toHalfFloat(heightUm(i % width, y0 + Math.floor(i / width)));
    }
    return { y0, rows, color, relief };
  };
  const half = Math.floor(height / 2);
  // In the order in which they were done, not that of their rows.
  return { width, height, pitchMm, swaths: [stripOf(half, height - half), stripOf(0, half)] };
}

export const SMALL_PARTS: FaceParts = {
  widthMm: SMALL_SLAB.widthMm,
  heightMm: SMALL_SLAB.heightMm,
  ground: evenSurface(120, 96, 0.5, [70, 50, 40, 255]),
  proof: evenSurface(200, 150, 0.2, [210, 196, 176, 0], () => -20),
  centreXMm: 4,
  centreYMm: -3,
  crop: 'rectangle',
  alpha: { top: 0.2, under: 0.35, wood: 0.6 },
  wood: null,
};

export const smallFace = (widthPx = 120): FaceMap => drawFace(SMALL_PARTS, widthPx);
