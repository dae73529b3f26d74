import type { Point, Polygon } from '../../../base/geometry/point.ts';
import type { BoundsMm } from '../../../base/geometry/polygon.ts';
import type { Defect } from '../../../vision/slab/defects.ts';
import type { Quarters } from '../../../vision/slab/quarter-turn.ts';
import type { Marks } from '../../../vision/slab/scale.ts';

/** The slab laid flat, as a picture and where it lies once it is turned. */
export interface Face {
  readonly id: number;
  /** As it was found; drawn with its quarter turns. */
  readonly bitmap: ImageBitmap;
  readonly quarters: Quarters;
  /** Where the origin of the frame it was found in lies in the photo's plane, mm. */
  readonly shift: Point;
  /** What gave that plane its scale. */
  readonly marks: Marks;
  readonly k1: number;
  readonly leftMm: number;
  readonly topMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

/** What the rim tells: the masking line and how far in it lies. Null inset: no rim is to be seen. */
export interface RimReading {
  readonly paintable: Polygon;
  readonly maskedRimMm: number | null;
  readonly notes: readonly string[];
}

/** A slab that has been found or pasted and is being put right; mm in the face's frame. */
export interface Draft {
  readonly outline: Polygon;
  /** Points of it that can be moved; the others follow. */
  readonly handles: readonly number[];
  /** What part of the plane is shown. */
  readonly view: BoundsMm;
  readonly face: Face | null;
  readonly rim: RimReading | null;
  /** The outline that the rim was read for; another one asks for a new reading. */
  readonly rimOf: Polygon;
  readonly tapeRim: boolean;
  readonly defects: readonly { readonly defect: Defect; readonly on: boolean }[];
  readonly notes: readonly string[];
}
