import type { World } from './world.ts';

/** Cells from the surface down, and the share φ of each one's mass that is still there. */
export interface Mesh {
  readonly thicknessMm: Float64Array;
  readonly layerOf: Uint8Array;
  readonly left: Float64Array;
}

/** An untouched stack; `refine` times as many cells as the layers name. */
export function untouched(world: World, refine = 1): Mesh {
  const thickness: number[] = [];
  const layerOf: number[] = [];
  world.layers.forEach(({ thicknessMm, cells, growth }, layer) => {
    const count = cells * refine;
    const ratio = growth ** (1 / refine);
    const first = ratio === 1 ? thicknessMm / count : (thicknessMm * (ratio - 1)) / (ratio ** count - 1);
    for (let i = 0; i < count; i++) {
      thickness.push(first * ratio ** i);
      layerOf.push(layer);
    }
  });
  return {
    thicknessMm: Float64Array.from(thickness),
    layerOf: Uint8Array.from(layerOf),
    left: new Float64Array(thickness.length).fill(1),
  };
}

/** Depth that has gone from a layer, µm. */
export function goneUm(mesh: Mesh, layer: number): number {
  let gone = 0;
  for (let i = 0; i < mesh.left.length; i++) {
    if (mesh.layerOf[i] === layer) gone += (1 - mesh.left[i]) * mesh.thicknessMm[i];
  }
  return 1000 * gone;
}
