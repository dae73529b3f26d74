import { clockwise, type Point } from '../base/geometry/outline.ts';
import { fillOutlines } from '../image/letters/fill-outlines.ts';
import { lightnessToLuminance, luminanceToLightness } from '../image/lightness.ts';
import type { ToneImage } from '../image/picture.ts';
import { aroundPicture, insetPerimeter } from '../physics/bed/bed.ts';
import { createFace } from '../physics/raster/face.ts';
import { LETTER_UNITS, type Lettering, type Piece, type Slab } from '../piece/schema.ts';

type Text = Extract<Lettering, { kind: 'text' }>;

type Size = { readonly width: number; readonly height: number };

/** How much of each dot a piece's lettering covers, with its tone: what comes later lies on top. Row-major over the picture's frame. */
export interface LetterLayer {
  readonly tone: number;
  readonly cover: Float32Array;
}

/**
 * The lettering over a grid at a pitch whose middle is the picture's, kept to the slab's face.
 * Test: test/unit/lettering.test.ts.
 */
export function letterLayers(piece: Piece, photo: Size, width: number, height: number, pitchMm: number): LetterLayer[] {
  const { slab, picture } = piece;
  if (picture.lettering.length === 0) return [];
  const face = createFace(slab);
  const outlines = letteringOutlines(piece, photo);
  const toDots = (points: readonly Point[]): number[] =>
    points.flatMap(([x, y]) => [
      (x - picture.offsetXMm) / pitchMm + width / 2,
      (y - picture.offsetYMm) / pitchMm + height / 2,
    ]);
  return picture.lettering.map((one, i): LetterLayer => {
    const cover = new Float32Array(width * height);
    fillOutlines(outlines[i].map(toDots), width, height, cover);
    for (let y = 0; y < height; y++) keepToFace(cover.subarray(y * width, (y + 1) * width), y);
    return { tone: one.tone, cover };
  });

  /** Nothing is burned beside the slab. */
  function keepToFace(row: Float32Array, y: number): void {
    const spans = face.spans(picture.offsetYMm + (y + 0.5 - height / 2) * pitchMm);
    let from = 0;
    for (let i = 0; i + 1 < spans.length; i += 2) {
      const left = Math.max(0, Math.ceil((spans[i] - picture.offsetXMm) / pitchMm + width / 2 - 0.5));
      const right = Math.max(0, Math.floor((spans[i + 1] - picture.offsetXMm) / pitchMm + width / 2 - 0.5) + 1);
      row.fill(0, from, Math.max(from, left));
      from = Math.max(from, right);
    }
    row.fill(0, from);
  }
}

/** Each of a piece's lettering as closed outlines on the slab, mm from its centre, filled by the non-zero winding rule. */
export const letteringOutlines = (piece: Pick<Piece, 'slab' | 'picture'>, photo: Size): Point[][][] =>
  piece.picture.lettering.map((one) =>
    one.kind === 'text' ? textOutlines(one, piece.slab) : borderOutlines(one, piece, photo),
  );

/**
 * Lays lettering over a picture that is toned and masked. Between two tones at a letter's edge light is mixed; where there was no picture,
 * a letter's edge fades out as a picture does.
 */
export function burnLettering(
  image: ToneImage,
  layers: readonly LetterLayer[],
  direction: 'lightens' | 'darkens',
): void {
  const { lightness, mask } = image;
  for (const { tone, cover } of layers) {
    const light = lightnessToLuminance(tone);
    for (let i = 0; i < cover.length; i++) {
      const share = cover[i];
      if (share === 0) continue;
      const burned = mask[i] / 255;
      if (burned === 0 && direction === 'lightens') {
        lightness[i] = tone;
        mask[i] = Math.round(255 * share);
        continue;
      }
      const before = burned === 0 ? 1 : lightnessToLuminance(lightness[i]);
      lightness[i] = luminanceToLightness(before + share * (light - before));
      mask[i] = direction === 'lightens' ? Math.round(255 * (burned + share * (1 - burned))) : 255;
    }
  }
}

/** A line of text as closed outlines on the slab, mm from its centre. */
export function textOutlines(line: Text, slab: Slab): Point[][] {
  const perUnit = line.capMm / (line.capEm * LETTER_UNITS);
  const gapMm = line.spacing * line.capMm;
  const widths = line.letters.map(({ advance }) => advance * perUnit);
  const totalMm = widths.reduce((sum, width) => sum + width + gapMm, -gapMm);
  const place = line.place.along === 'line' ? alongLine(line.place) : alongRim(line.place, slab, line.capMm);
  if (!place) return [];
  let from = -totalMm / 2;
  return line.letters.flatMap(({ outlines }, k) => {
    const stand = place(from + widths[k] / 2, widths[k]);
    from += widths[k] + gapMm;
    return outlines.map((outline) => {
      const points: Point[] = [];
      for (let i = 0; i < outline.length; i += 2) {
        points.push(stand(outline[i] * perUnit - widths[k] / 2, outline[i + 1] * perUnit));
      }
      return points;
    });
  });
}

/** Where a place of a letter lies: `across` from the letter's middle along the line, `up` from the baseline. */
type Stand = (acrossMm: number, upMm: number) => Point;

/** How a letter stands whose middle is so far from the line's middle. */
type Stands = (middleMm: number, widthMm: number) => Stand;

function alongLine({ xMm, yMm, turnRad }: Extract<Text['place'], { along: 'line' }>): Stands {
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  return (middle) => (across, up) => {
    const [u, v] = [middle + across, -up];
    return [xMm + u * cosine + v * sine, yMm - u * sine + v * cosine];
  };
}

/**
 * Letters on the lower half stand with their feet towards the rim, on the upper half with their heads, so that both read from left to
 * right.
 */
function alongRim(
  { rimMm, aroundRad }: Extract<Text['place'], { along: 'rim' }>,
  slab: Slab,
  capMm: number,
): Stands | null {
  const ray: Point = [Math.sin(aroundRad), Math.cos(aroundRad)];
  const headsOut = ray[1] < -1e-9;
  const path = insetPerimeter(slab, headsOut ? rimMm + capMm : rimMm);
  if (!path || path.length < 3) return null;
  // As one reads: on the lower half to the right is counter-clockwise, on the upper half clockwise. y grows downwards.
  const line = headsOut ? clockwise(path) : clockwise(path).toReversed();
  const starts = [0];
  line.forEach(([x, y], i) => {
    const [nextX, nextY] = line[(i + 1) % line.length];
    starts.push(starts[i] + Math.hypot(nextX - x, nextY - y));
  });
  const length = starts[line.length];
  const at = (mm: number): Point => {
    const along = ((mm % length) + length) % length;
    let [low, high] = [0, line.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (starts[middle] <= along) low = middle;
      else high = middle - 1;
    }
    const [x, y] = line[low];
    const [nextX, nextY] = line[(low + 1) % line.length];
    const share = (along - starts[low]) / Math.max(1e-12, starts[low + 1] - starts[low]);
    return [x + share * (nextX - x), y + share * (nextY - y)];
  };
  const start = meetsRay(line, starts, ray);
  return (middle, width) => {
    const [x, y] = at(start + middle);
    const reach = Math.max(width, capMm / 2) / 2;
    const [before, after] = [at(start + middle - reach), at(start + middle + reach)];
    const chord = Math.hypot(after[0] - before[0], after[1] - before[1]) || 1;
    const [tx, ty] = [(after[0] - before[0]) / chord, (after[1] - before[1]) / chord];
    return (across, up) => [x + across * tx + up * ty, y + across * ty - up * tx];
  };
}

/** How far along a closed line the outermost place lies where a ray from the slab's centre meets it. */
function meetsRay(line: readonly Point[], starts: readonly number[], [rx, ry]: Point): number {
  let [found, farthest] = [0, -1];
  line.forEach(([x, y], i) => {
    const [nextX, nextY] = line[(i + 1) % line.length];
    const [side, nextSide] = [x * ry - y * rx, nextX * ry - nextY * rx];
    if (side <= 0 === nextSide <= 0) return;
    const share = side / (side - nextSide);
    const far = (x + share * (nextX - x)) * rx + (y + share * (nextY - y)) * ry;
    if (far > farthest) [found, farthest] = [starts[i] + share * (starts[i + 1] - starts[i]), far];
  });
  return found;
}

/** A border as an outer line and, the other way round, an inner one. */
function borderOutlines(
  border: Extract<Lettering, { kind: 'border' }>,
  { slab, picture }: Pick<Piece, 'slab' | 'picture'>,
  photo: Size,
): Point[][] {
  const { follows, distanceMm, lineMm } = border;
  const [near, far] = [distanceMm - lineMm / 2, distanceMm + lineMm / 2];
  const lines =
    follows === 'rim'
      ? [insetPerimeter(slab, near), insetPerimeter(slab, far)]
      : [aroundPicture(slab, picture, photo, far), aroundPicture(slab, picture, photo, near)];
  return lines.flatMap((line, i) => (line ? [i === 0 ? [...clockwise(line)] : clockwise(line).toReversed()] : []));
}
