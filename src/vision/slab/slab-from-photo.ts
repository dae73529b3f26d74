import { insetOutline } from '../../base/geometry/inset.ts';
import type { Polygon } from '../../base/geometry/point.ts';
import { clockwise, middleMm, moved } from '../../base/geometry/polygon.ts';
import type { TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { type Defect, suggestDefects } from './defects.ts';
import { findSlabOutline, type SegmentOptions, type SlabFinding } from './segment.ts';
import { findZones, type SlabZones, type ZoneOptions } from './zones.ts';

/** All that a rectified photo tells of a slab; mm from the slab's origin, the middle of the box round it. */
export interface SlabReading {
  readonly kind: 'slab';
  readonly outline: Polygon;
  readonly zones: SlabZones;
  readonly lightWood: Polygon;
  readonly defects: readonly Defect[];
  /** The photo with its frame moved to the slab's origin: the slab's own face. */
  readonly face: TrueSizePhoto;
  readonly notes: readonly string[];
}

/**
 * Reads a slab from a rectified photo: outline, bark, rim and light wood, knots and checks. The photo's frame is moved to the
 * slab's origin first, so everything returned speaks of the same place.
 * @returns the reading, or the refusal of `findSlabOutline`. @throws RangeError as `findZones` does.
 */
export function readSlab(
  photo: TrueSizePhoto,
  options: { readonly outline?: Partial<SegmentOptions>; readonly zones?: Partial<ZoneOptions> } = {},
): SlabReading | Extract<SlabFinding, { kind: 'refused' }> {
  const found = findSlabOutline(photo, options.outline);
  if (found.kind === 'refused') return found;
  const [x, y] = middleMm(found.outline);
  const face = { ...photo, leftMm: photo.leftMm - x, topMm: photo.topMm - y };
  const outline = clockwise(moved(found.outline, -x, -y));
  const zones = findZones(face, outline, options.zones);
  const lightWood = insetOutline(zones.line, zones.woodInsetMm);
  const defects = suggestDefects(face, lightWood);
  return { kind: 'slab', outline, zones, lightWood, defects, face, notes: [...found.notes, ...zones.notes] };
}
