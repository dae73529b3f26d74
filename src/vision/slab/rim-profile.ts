import { inwardNormals } from '../../base/geometry/outline-normals.ts';
import type { Polygon } from '../../base/geometry/point.ts';
import type { TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { samplePlane } from '../../base/geometry/sample-plane.ts';
import { smoothRing } from '../../base/geometry/smooth-ring.ts';
import { blurGaussian } from '../../image/gaussian-blur.ts';
import { labPlanes } from './lab-planes.ts';

/** Lightness along inward normals: how light the slab is at each depth below each point of its outline. */
export interface RimProfile {
  /** L* at `[point][depth]`; depth k is (k + 0.5) steps below the outline. */
  readonly lightness: readonly Float64Array[];
  readonly stepMm: number;
}

/** More would only cost time: the layers lie near the edge. */
const MOST_DEPTHS = 160;

/**
 * Reads the lightness of a photo along the inward normals of an outline, smoothed along the outline, so that knobs of bark and grain
 * average out while the layers, which follow the outline, stay.
 * @param outline clockwise, at even distances, mm in the photo's frame. @param depthMm how deep to read.
 * @param alongMm standard deviation of the smoothing along the outline.
 */
export function readRimProfile(photo: TrueSizePhoto, outline: Polygon, depthMm: number, alongMm: number): RimProfile {
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  const L = blurGaussian(labPlanes(photo).L, width, height, 0.7);
  const normals = inwardNormals(outline);
  // Half a pixel: the photo's own blur then takes about two steps either side of an edge.
  const stepMm = mmPerPixel / 2;
  const depths = Math.min(MOST_DEPTHS, Math.max(4, Math.floor(depthMm / stepMm)));
  const pointMm = Math.hypot(outline[1][0] - outline[0][0], outline[1][1] - outline[0][1]) || 1;
  const rings = Array.from({ length: depths }, (_, k) => {
    const depth = (k + 0.5) * stepMm;
    const raw = outline.map(([x, y], i) =>
      samplePlane(
        L,
        width,
        height,
        (x + depth * normals[i][0] - leftMm) / mmPerPixel,
        (y + depth * normals[i][1] - topMm) / mmPerPixel,
      ),
    );
    return smoothRing(raw, alongMm / pointMm);
  });
  return { lightness: outline.map((_, i) => Float64Array.from(rings, (ring) => ring[i])), stepMm };
}
