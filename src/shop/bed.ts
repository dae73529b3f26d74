import type { Point } from '../base/geometry/outline.ts';
import { slabPerimeter, slabToBed } from '../physics/bed/bed.ts';
import { usedRunUpMm } from '../physics/raster/pass-raster.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import { burnFrame } from '../piece/frame.ts';
import type { Piece } from '../piece/schema.ts';

/** A kind of slab to be laid, from its middle on the bed (y away from the maker), not turned. */
export interface SlabToLay {
  readonly id: string;
  /** How many there are of it. */
  readonly quantity: number;
  readonly outline: readonly Point[];
  /** Places that the head travels to when it burns: they must lie on the bed too. */
  readonly travel: readonly Point[];
  /** Room to keep round it. */
  readonly clearanceMm: number;
}

/** Where one of them lies: its middle from the bed's near left corner, whole mm, and whether a quarter turn was given. */
export interface LaidSlab {
  readonly id: string;
  readonly copy: number;
  readonly xMm: number;
  readonly yMm: number;
  readonly turnRad: number;
}

export interface BedSize {
  readonly widthMm: number;
  readonly heightMm: number;
}

interface LaidBeds {
  /** One after another, each with what lies on it. */
  readonly beds: readonly (readonly LaidSlab[])[];
  /** Too large for the bed, turned or not. */
  readonly left: readonly string[];
}

/** @param photo size of the piece's photograph */
export function slabToLay(id: string, piece: Piece, photo: { width: number; height: number }): SlabToLay {
  const flat = { ...piece.placement, xMm: 0, yMm: 0, turnRad: 0 };
  const onBed = (point: Point): Point => slabToBed(flat, point);
  return {
    id,
    quantity: piece.order.quantity,
    outline: slabPerimeter(piece.slab).map(onBed),
    travel: piece.passes.flatMap((_, index) => passCorners(piece, index, photo)),
    clearanceMm: piece.placement.clearanceMm,
  };
}

/** Corners of the box, along a pass's rows, round all that it burns and its run-ups. */
function passCorners(piece: Piece, index: number, photo: { width: number; height: number }): Point[] {
  const pass = piece.passes[index];
  const { widthMm, heightMm } = burnFrame(piece, photo);
  const [cosine, sine] = [Math.cos(pass.headingRad), Math.sin(pass.headingRad)];
  const beyondMm =
    usedRunUpMm(feedOf(pass, piece.machine.motion), piece.machine.motion) +
    Math.abs(pass.rowOffsetErrorMm) +
    2 * pass.rowPitchMm;
  const a = (widthMm * Math.abs(cosine) + heightMm * Math.abs(sine)) / 2 + beyondMm;
  const b = (widthMm * Math.abs(sine) + heightMm * Math.abs(cosine)) / 2 + 2 * pass.rowPitchMm;
  const { offsetXMm: x, offsetYMm: y } = piece.picture;
  return [-a, a].flatMap((u) => [-b, b].map((v): Point => [x + u * cosine - v * sine, -y + u * sine + v * cosine]));
}

/** The piece as it lies there. */
export const laidPiece = (piece: Piece, { xMm, yMm, turnRad }: LaidSlab, bed: BedSize): Piece => ({
  ...piece,
  placement: { ...piece.placement, bedWidthMm: bed.widthMm, bedHeightMm: bed.heightMm, xMm, yMm, turnRad },
});

/**
 * Lays slabs on as many beds as it takes: the largest first, each on the first bed that has room for it, there as near to the front as can
 * be and then as far to the left; turned by a quarter only where it does not fit straight, for its rows then run along the machine's other
 * axis. Source: "finite bottom-left" of J. O. Berkey, P. Y. Wang, "Two-dimensional finite bin-packing algorithms", Journal of the Operational
 * Research Society 38(5), 423–429, 1987, here with outlines in bands of 1 mm, each band as wide as the outline is there, in place of
 * rectangles. It wastes more than the best there is, and never lays one slab on another. Test: exact distances of outlines.
 */
export function layOnBed(slabs: readonly SlabToLay[], bed: BedSize): LaidBeds {
  const gapMm = Math.max(0, ...slabs.map(({ clearanceMm }) => clearanceMm));
  const shapes = slabs
    .map((slab) => ({ slab, turns: [0, Math.PI / 2].map((turnRad) => shapeOf(slab, turnRad, gapMm, bed)) }))
    .sort((a, b) => b.turns[0].area - a.turns[0].area);
  const beds: { rows: Span[][]; laid: LaidSlab[] }[] = [];
  const left: string[] = [];
  for (const { slab, turns } of shapes) {
    for (let copy = 1; copy <= slab.quantity; copy++) {
      const lay = (into: (typeof beds)[number]): boolean => {
        for (const shape of turns) {
          const at = lowestPlace(shape, into.rows);
          if (!at) continue;
          take(shape, at, into.rows);
          into.laid.push({ id: slab.id, copy, xMm: at[0], yMm: at[1], turnRad: shape.turnRad });
          return true;
        }
        return false;
      };
      if (beds.some(lay)) continue;
      const fresh = { rows: Array.from({ length: Math.ceil(bed.heightMm) + 1 }, () => []), laid: [] };
      if (!lay(fresh)) {
        left.push(slab.id);
        break;
      }
      beds.push(fresh);
    }
  }
  return { beds: beds.map(({ laid }) => laid), left };
}

/** From and to, whole mm. */
type Span = readonly [number, number];

/** Bands of 1 mm along y, the first of them so far from the slab's middle. */
interface Bands {
  readonly first: number;
  readonly spans: readonly Span[];
}

/** An outline by itself and with the gap round it, and where its middle may lie. */
interface Shape {
  readonly turnRad: number;
  readonly area: number;
  readonly own: Bands;
  readonly spaced: Bands;
  readonly x: Span;
  readonly y: Span;
}

function shapeOf(slab: SlabToLay, turnRad: number, gapMm: number, bed: BedSize): Shape {
  const [cosine, sine] = [Math.round(Math.cos(turnRad)), Math.round(Math.sin(turnRad))];
  const turned = (points: readonly Point[]): Point[] =>
    points.map(([x, y]): Point => [x * cosine - y * sine, x * sine + y * cosine]);
  const outline = turned(slab.outline);
  const limits = (axis: 0 | 1, room: number): Span => {
    const along = outline.map((point) => point[axis]);
    const travelled = turned(slab.travel).map((point) => point[axis]);
    const low = Math.min(...along.map((value) => value - slab.clearanceMm), ...travelled);
    const high = Math.max(...along.map((value) => value + slab.clearanceMm), ...travelled);
    return [Math.ceil(-low - 1e-6), Math.floor(room - high + 1e-6)];
  };
  const own = bandsOf(outline, 0);
  return {
    turnRad,
    area: own.spans.reduce((sum, [from, to]) => sum + to - from, 0),
    own,
    spaced: bandsOf(outline, gapMm),
    x: limits(0, bed.widthMm),
    y: limits(1, bed.heightMm),
  };
}

/** Bands of 1 mm along y, each from the least to the greatest x of the outline there with so much round it, outwards to whole mm. */
function bandsOf(outline: readonly Point[], roundMm: number): Bands {
  const low = Math.floor(Math.min(...outline.map(([, y]) => y)));
  const count = Math.ceil(Math.max(...outline.map(([, y]) => y))) - low;
  const own = Array.from({ length: Math.max(1, count) }, (): [number, number] => [Infinity, -Infinity]);
  outline.forEach(([ax, ay], i) => {
    const [bx, by] = outline[(i + 1) % outline.length];
    const [from, to] = [Math.min(ay, by), Math.max(ay, by)];
    for (let band = Math.floor(from); band <= Math.min(Math.floor(to), low + own.length - 1); band++) {
      for (const y of [Math.max(from, band), Math.min(to, band + 1)]) {
        const x = by === ay ? ax : ax + ((y - ay) / (by - ay)) * (bx - ax);
        const span = own[band - low];
        span[0] = Math.min(span[0], x, by === ay ? bx : x);
        span[1] = Math.max(span[1], x, by === ay ? bx : x);
      }
    }
  });
  const beyond = Math.ceil(roundMm);
  const spans = Array.from({ length: own.length + 2 * beyond }, (_, k): Span => {
    let [from, to] = [Infinity, -Infinity];
    for (let j = Math.max(0, k - 2 * beyond); j <= Math.min(own.length - 1, k); j++) {
      const apart = Math.max(0, Math.abs(j + beyond - k) - 1);
      if (apart > roundMm) continue;
      const reach = Math.sqrt(roundMm * roundMm - apart * apart);
      from = Math.min(from, own[j][0] - reach);
      to = Math.max(to, own[j][1] + reach);
    }
    return [Math.floor(from + 1e-9), Math.ceil(to - 1e-9)];
  });
  return { first: low - beyond, spans };
}

/** The nearest place to the front, and there the farthest to the left, at which a shape meets nothing; null if there is none. */
function lowestPlace({ spaced, x, y }: Shape, rows: readonly (readonly Span[])[]): Point | null {
  for (let middle = y[0]; middle <= y[1]; middle++) {
    // Places that something taken forbids to the shape's middle, as open stretches.
    const forbidden: Span[] = [];
    for (const [k, [from, to]] of spaced.spans.entries()) {
      for (const [takenFrom, takenTo] of rows[middle + spaced.first + k] ?? [])
        forbidden.push([takenFrom - to, takenTo - from]);
    }
    forbidden.sort((a, b) => a[0] - b[0]);
    let at = x[0];
    for (const [from, to] of forbidden) if (at > from && at < to) at = to;
    if (at <= x[1]) return [at, middle];
  }
  return null;
}

function take({ own }: Shape, [x, y]: Point, rows: Span[][]): void {
  for (const [k, [from, to]] of own.spans.entries()) rows[y + own.first + k].push([x + from, x + to]);
}
