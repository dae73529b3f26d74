import { inwardNormals } from '../../base/geometry/outline-normals.ts';
import type { Point, Polygon } from '../../base/geometry/point.ts';
import { resampleOutline } from '../../base/geometry/resample-outline.ts';
import { samplePlane } from '../../base/geometry/sample-plane.ts';
import { smoothOutline } from '../../base/geometry/smooth-outline.ts';
import { medianRing, smoothRing } from '../../base/geometry/smooth-ring.ts';

/** Reach of the profiles either side of the line and their step, pixels. */
const REACH_PX = 5;
const STEP_PX = 0.25;
/** From here outwards and inwards the profile counts as table and as slab. */
const OUTER_PX = 3.5;
const INNER_PX = 2;
/** Blur of the profiles along the line, and of the shifts found, pixels. */
const ALONG_PX = 1.5;
/** Furthest that a point is moved. */
const FURTHEST_PX = 2.5;

/**
 * A traced line moved to where the field is half-way between its levels on either side. A threshold over the whole picture lies
 * nearer the table than half-way where the slab is dark, and a blurred edge is then found too far out; half-way is
 * where the edge was before the blur. Profiles are read along the normals and blurred along the line; shifts go through a median.
 * @param traced clockwise, in cells (`traceBoundary`); at least a few dozen cells round.
 * @returns points about one pixel apart.
 */
export function refineEdge(traced: Polygon, field: Float32Array, width: number, height: number): Polygon {
  let line = traced;
  // A second round starts near the edge, so that the two ends of its profiles are clear of the blur.
  for (let round = 0; round < 2; round++)
    line = shiftToEdge(smoothOutline(resampleOutline(line, 1), 2.5), field, width, height);
  return line;
}

function shiftToEdge(line: Polygon, field: Float32Array, width: number, height: number): Polygon {
  const normals = inwardNormals(line);
  const count = 2 * Math.round(REACH_PX / STEP_PX) + 1;
  const stepPx = Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1]) || 1;
  const profiles = Array.from({ length: count }, (_, k) => {
    const depth = (k - (count - 1) / 2) * STEP_PX;
    const raw = line.map(([x, y], i) =>
      samplePlane(field, width, height, x + depth * normals[i][0], y + depth * normals[i][1]),
    );
    return smoothRing(raw, ALONG_PX / stepPx);
  });
  const shifts = Float64Array.from(line, (_, i) => halfWay(Float64Array.from(profiles, (profile) => profile[i])));
  const steady = smoothRing(medianRing(shifts, Math.ceil(3 / stepPx)), 2 / stepPx);
  return line.map(([x, y], i): Point => {
    const shift = Number.isNaN(steady[i]) ? 0 : steady[i];
    return [x + shift * normals[i][0], y + shift * normals[i][1]];
  });
}

/** Depth nearest to 0 at which a profile (outside first) rises through the middle of its two ends, pixels; NaN if there is none. */
function halfWay(profile: Float64Array): number {
  const middle = (profile.length - 1) / 2;
  const depth = (k: number): number => (k - middle) * STEP_PX;
  let outer = 0;
  let inner = 0;
  let outerCount = 0;
  let innerCount = 0;
  for (let k = 0; k < profile.length; k++) {
    if (depth(k) <= -OUTER_PX) {
      outer += profile[k];
      outerCount++;
    } else if (depth(k) >= INNER_PX) {
      inner += profile[k];
      innerCount++;
    }
  }
  const level = (outer / outerCount + inner / innerCount) / 2;
  let best = Number.NaN;
  for (let k = 0; k < profile.length - 1; k++) {
    if (!(profile[k] < level && profile[k + 1] >= level)) continue;
    const at = depth(k) + (STEP_PX * (level - profile[k])) / (profile[k + 1] - profile[k]);
    if (!(Math.abs(at) >= Math.abs(best))) best = at;
  }
  return Math.abs(best) <= FURTHEST_PX ? best : Number.NaN;
}
