import type { Mesh } from './mesh.ts';
import type { World } from './world.ts';

/**
 * Adds to `heat` what each cell takes up of 1 W/mm² arriving at the surface, W/mm². Downwards each layer turns a share back at its top and
 * absorbs after Lambert; what is turned back is absorbed on its way up likewise, and what reaches the air is lost.
 */
export function takeUp(world: World, mesh: Mesh, from: number, heat: Float64Array): void {
  heat.fill(0);
  let down = 1;
  let lastLayer = -1;
  for (let i = from; i < heat.length && down > 1e-4; i++) {
    const layer = mesh.layerOf[i];
    const { reflectance, absorptionPerMm } = world.layers[layer];
    if (layer !== lastLayer) {
      let up = down * reflectance;
      down -= up;
      for (let above = i - 1; above >= from; above--) {
        const share = absorbed(world, mesh, above);
        heat[above] += up * share;
        up *= 1 - share;
      }
      lastLayer = layer;
    }
    const share = 1 - Math.exp(-absorptionPerMm * mesh.left[i] * mesh.thicknessMm[i]);
    heat[i] += down * share;
    down *= 1 - share;
  }
}

const absorbed = (world: World, mesh: Mesh, i: number): number =>
  1 - Math.exp(-world.layers[mesh.layerOf[i]].absorptionPerMm * mesh.left[i] * mesh.thicknessMm[i]);
