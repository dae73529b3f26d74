import { type BoundsMm, boundsMm, type Point, type Polygon } from '../../base/geometry/outline.ts';
import { type Crossing, centreOutline, findCrossing } from '../../base/geometry/raster-mask.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import type { Slab } from '../../piece/schema.ts';
import type { Defect } from './defects.ts';
import { type AreaMm, type PhotoScale, type PhotoSize, photoToMm, pixelSizeMm } from './rectify.ts';
import type { SlabZones } from './zones.ts';

/** A slab that was found in a photograph, or drawn; mm in a frame of its own. */
interface FoundSlab {
  readonly outline: Polygon;
  /** Null: only drawn, which says nothing about the wood. */
  readonly wood: {
    /** The knots and checks that are wanted. */
    readonly defects: readonly Defect[];
    /** Its picture and where that lies. */
    readonly photo: { readonly file: string; readonly box: BoundsMm };
  } | null;
  /** Rim to be taped off; null leaves what was. */
  readonly maskedRimMm: number | null;
}

/** What the schema takes. */
const MOST_ITEMS = 12;

const LEAST_SIDE_MM = 5;

const LARGEST_SIDE_MM = 3000;

/** A photo does not show how deep a check goes. */
const CHECK_DEPTH_MM = 3;

/**
 * What a found slab says about a piece's: outline about its own origin, box, knots, checks, its picture, and the rim to be taped.
 * @throws RangeError with a sentence if the outline crosses itself or has a size that no slab has.
 */
export function slabPart({ outline: found, wood, maskedRimMm }: FoundSlab): Partial<Slab> {
  const { outline, middle } = centreOutline(found);
  const { left, top, right, bottom } = boundsMm(outline);
  const [widthMm, heightMm] = [hundredth(right - left), hundredth(bottom - top)];
  if (Math.min(widthMm, heightMm) < LEAST_SIDE_MM || Math.max(widthMm, heightMm) > LARGEST_SIDE_MM) {
    throw new RangeError(
      `The outline is ${widthMm} × ${heightMm} mm; a slab has ${LEAST_SIDE_MM} to ${LARGEST_SIDE_MM} mm a side. Check what gives the scale.`,
    );
  }
  return {
    shape: 'outline',
    outlineMm: outline.map(([x, y]): [number, number] => [hundredth(x), hundredth(y)]),
    widthMm,
    heightMm,
    // Drawn anew, the outline is not the one that was photographed.
    ...(wood ? woodPart(wood, middle) : { photo: null }),
    ...(maskedRimMm !== null && { maskedRimMm: within(maskedRimMm, 0, 200) }),
  };
}

function woodPart({ defects, photo }: NonNullable<FoundSlab['wood']>, middle: Point): Partial<Slab> {
  const place = (xMm: number, yMm: number) => ({ xMm: hundredth(xMm - middle[0]), yMm: hundredth(yMm - middle[1]) });
  const { left, top, right, bottom } = photo.box;
  return {
    knots: defects
      .flatMap((defect) =>
        defect.kind === 'knot'
          ? [
              {
                ...place(defect.xMm, defect.yMm),
                diameterMm: within(defect.diameterMm, 1, 300),
                tiltRad: 0,
                filled: true,
              },
            ]
          : [],
      )
      .slice(0, MOST_ITEMS),
    checks: defects
      .flatMap((defect) =>
        defect.kind === 'check'
          ? [
              {
                ...place(defect.xMm, defect.yMm),
                lengthMm: within(defect.lengthMm, 1, 1000),
                headingRad: defect.headingRad,
                widthMm: within(defect.widthMm, 0.05, 20),
                depthMm: CHECK_DEPTH_MM,
                filled: false,
              },
            ]
          : [],
      )
      .slice(0, MOST_ITEMS),
    photo: {
      file: photo.file,
      ...place((left + right) / 2, (top + bottom) / 2),
      widthMm: right - left,
      heightMm: bottom - top,
      shown: true,
    },
  };
}

const hundredth = (mm: number): number => Math.round(100 * mm) / 100;

const within = (value: number, low: number, high: number): number =>
  Math.min(high, Math.max(low, Math.round(100 * value) / 100));

/** Places looked at along each side of the photo. */
const PLACES = 48;

/** What is seen so flatly that a pixel covers more than this many times its size at the marks is left out. */
const FLATTEST = 4;

/**
 * The part of the slab's plane that a photo shows well: the box round all places whose pixels cover at most four times the length
 * they cover at the marks. Near the horizon a photo shows kilometres; nobody's slab lies there.
 * @returns the box in mm. Its edges are right to a 48th of the photo.
 * @throws RangeError if no part of the photo qualifies.
 */
export function visibleArea(photo: PhotoSize, scale: PhotoScale): AreaMm {
  let left = Number.POSITIVE_INFINITY;
  let top = Number.POSITIVE_INFINITY;
  let right = Number.NEGATIVE_INFINITY;
  let bottom = Number.NEGATIVE_INFINITY;
  for (let j = 0; j <= PLACES; j++) {
    for (let i = 0; i <= PLACES; i++) {
      const at: Point = [(i / PLACES) * photo.width, (j / PLACES) * photo.height];
      const mm = photoToMm(scale, at);
      if (!mm || !(pixelSizeMm(scale, at) <= FLATTEST * scale.pixelMm)) continue;
      left = Math.min(left, mm[0]);
      right = Math.max(right, mm[0]);
      top = Math.min(top, mm[1]);
      bottom = Math.max(bottom, mm[1]);
    }
  }
  if (!(right > left && bottom > top)) throw new RangeError('the marked points do not fit a photograph of a flat slab');
  return { leftMm: left, topMm: top, widthMm: right - left, heightMm: bottom - top };
}

/** Pixels on the longer side of a rectified photo that finding an outline needs: more costs time and finds no more. */
const USEFUL_SIDE = 1600;

/** Pitch at which to rectify: as fine as the photo at the marks, but at most about 1600 pixels a side. */
export const usefulPitchMm = (area: AreaMm, scale: PhotoScale): number =>
  Math.max(scale.pixelMm, Math.max(area.widthMm, area.heightMm) / USEFUL_SIDE);

/** Table shown round the slab, share of its longer side. */
const ROUND = 0.08;

/** The part of the plane to show so that an outline can be moved outwards a little. */
export function viewRound(outline: Polygon): BoundsMm {
  const { left, top, right, bottom } = boundsMm(outline);
  const round = ROUND * Math.max(right - left, bottom - top);
  return { left: left - round, top: top - round, right: right + round, bottom: bottom + round };
}

interface HandleMove {
  readonly dxMm: number;
  readonly dyMm: number;
  /** How far along the outline, either way, its neighbours follow; 0 moves the one point alone. */
  readonly reachMm: number;
}

/**
 * Moves one point of an outline; its neighbours follow by ½ (1 + cos π s / reach), s being their distance along the outline, the
 * shorter way. Says where the outline then crosses itself, so that the page can show it and hold it back.
 * @throws RangeError if there is no such point or a number is not finite.
 */
export function moveHandle(
  polygon: Polygon,
  index: number,
  move: HandleMove,
): { readonly outline: Polygon; readonly crossing: Crossing | null } {
  const n = polygon.length;
  if (!(Number.isInteger(index) && index >= 0 && index < n)) throw new RangeError(`the outline has no point ${index}`);
  const { dxMm, dyMm, reachMm } = move;
  if (!(Number.isFinite(dxMm) && Number.isFinite(dyMm) && reachMm >= 0)) {
    throw new RangeError('a handle is moved by two numbers of mm, its neighbours over a reach of at least 0 mm');
  }
  const along = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  along[index] = 0;
  for (const way of [1, n - 1]) {
    let walked = 0;
    for (let k = 1, at = index; k < n && walked < reachMm; k++) {
      const next = (at + way) % n;
      walked += Math.hypot(polygon[next][0] - polygon[at][0], polygon[next][1] - polygon[at][1]);
      along[next] = Math.min(along[next], walked);
      at = next;
    }
  }
  const outline = polygon.map(([x, y], i): Point => {
    if (i !== index && !(along[i] < reachMm)) return [x, y];
    const follow = i === index ? 1 : (1 + Math.cos((Math.PI * along[i]) / reachMm)) / 2;
    return [x + follow * dxMm, y + follow * dyMm];
  });
  return { outline, crossing: findCrossing(outline) };
}

/** How often something is turned clockwise by 90° about the origin. */
export type Quarters = 0 | 1 | 2 | 3;

/** The turns of both, one after the other; a negative sum turns back. */
export const addQuarters = (a: number, b: number): Quarters => ((((a + b) % 4) + 4) % 4) as Quarters;

export function turnPoint([x, y]: Point, quarters: number): Point {
  switch (addQuarters(quarters, 0)) {
    case 0:
      return [x, y];
    case 1:
      return [-y, x];
    case 2:
      return [-x, -y];
    case 3:
      return [y, -x];
  }
}

export const turnPolygon = (polygon: Polygon, quarters: number): Polygon =>
  polygon.map((point) => turnPoint(point, quarters));

export function turnBounds({ left, top, right, bottom }: BoundsMm, quarters: number): BoundsMm {
  const [x0, y0] = turnPoint([left, top], quarters);
  const [x1, y1] = turnPoint([right, bottom], quarters);
  return { left: Math.min(x0, x1), top: Math.min(y0, y1), right: Math.max(x0, x1), bottom: Math.max(y0, y1) };
}

export function turnDefect(defect: Defect, quarters: number): Defect {
  const [xMm, yMm] = turnPoint([defect.xMm, defect.yMm], quarters);
  if (defect.kind === 'knot') return { ...defect, xMm, yMm };
  return { ...defect, xMm, yMm, headingRad: (defect.headingRad + addQuarters(quarters, 0) * (Math.PI / 2)) % Math.PI };
}

/** The pixels turned clockwise. */
export function turnPixels(photo: RgbaPhoto, quarters: number): RgbaPhoto {
  const turns = addQuarters(quarters, 0);
  if (turns === 0) return photo;
  const { width, height, rgba } = photo;
  const from = new Uint32Array(rgba.buffer, rgba.byteOffset, width * height);
  const to = new Uint32Array(width * height);
  const [newWidth, newHeight] = turns === 2 ? [width, height] : [height, width];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const column = turns === 1 ? height - 1 - y : turns === 2 ? width - 1 - x : y;
      const row = turns === 1 ? x : turns === 2 ? height - 1 - y : width - 1 - x;
      to[row * newWidth + column] = from[y * width + x];
    }
  }
  return { width: newWidth, height: newHeight, rgba: new Uint8Array(to.buffer) };
}

/** How wide a rim to tape off, to half a millimetre; null where none was seen. */
export function maskedRimOf({ maskInsetMm, seen }: Pick<SlabZones, 'maskInsetMm' | 'seen'>): number | null {
  const mean = maskInsetMm.reduce((sum, value) => sum + value, 0) / maskInsetMm.length;
  return seen > 0 ? Math.round(2 * mean) / 2 : null;
}
