import { boundsMm } from '../base/geometry/outline.ts';
import {
  type BrushStroke,
  type Cut,
  LETTER_UNITS,
  type Lettering,
  type PictureMatte,
  type PictureSettings,
  type Piece,
  type Slab,
} from './schema.ts';

/** The upright rectangle that a placed picture covers on the slab, mm. */
interface PictureFrame {
  readonly widthMm: number;
  readonly heightMm: number;
}

type Size = { readonly width: number; readonly height: number };

const snap = (value: number): number => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);

/** Cosine and sine of a picture's turn, exact for quarter turns. */
export const turnOf = ({ rotationRad }: Pick<PictureSettings, 'rotationRad'>): { cosine: number; sine: number } => ({
  cosine: snap(Math.cos(rotationRad)),
  sine: snap(Math.sin(rotationRad)),
});

/** Height over width of what is used of a photograph. */
export const tallnessOf = ({ cut }: Pick<PictureSettings, 'cut'>, photo: Size): number =>
  cut ? cut.height / cut.width : photo.height / photo.width;

/** Height of the picture before it is turned: the proportions of what is used of the photo are kept. */
export const uprightHeightMm = (picture: Pick<PictureSettings, 'cut' | 'widthMm'>, photo: Size): number =>
  picture.widthMm * tallnessOf(picture, photo);

/** What a picture itself covers once it is turned, lettering beside it left out. */
export function pictureFrame(picture: PictureSettings, photo: Size): PictureFrame {
  const heightMm = uprightHeightMm(picture, photo);
  const { cosine, sine } = turnOf(picture);
  return {
    widthMm: picture.widthMm * Math.abs(cosine) + heightMm * Math.abs(sine),
    heightMm: picture.widthMm * Math.abs(sine) + heightMm * Math.abs(cosine),
  };
}

/** Room that lettering gets beyond what it covers, mm. */
const BESIDE_MM = 0.5;

/**
 * What is burned of a picture, its lettering included: a rectangle about the picture's own middle, no larger than lettering on the slab
 * needs. Without lettering it is the picture's frame.
 */
export function burnFrame(piece: Pick<Piece, 'slab' | 'picture'>, photo: Size): PictureFrame {
  const own = pictureFrame(piece.picture, photo);
  if (piece.picture.lettering.length === 0) return own;
  const { offsetXMm: x, offsetYMm: y } = piece.picture;
  const { left, top, right, bottom } = burnBox(piece, photo);
  const grown = (half: number, before: number) => (half > before / 2 ? 2 * (half + BESIDE_MM) : before);
  return {
    widthMm: grown(Math.max(x - left, right - x), own.widthMm),
    heightMm: grown(Math.max(y - top, bottom - y), own.heightMm),
  };
}

/** How many times as wide and as high as the picture all is that is burned of it: 1 and 1 without lettering beside. */
export function burnSpread(piece: Pick<Piece, 'slab' | 'picture'>, photo: Size): { across: number; down: number } {
  const [own, all] = [pictureFrame(piece.picture, photo), burnFrame(piece, photo)];
  return { across: all.widthMm / own.widthMm, down: all.heightMm / own.heightMm };
}

/** The box round the picture and what of its lettering lies on the slab, mm from the slab's centre, y growing downwards. */
export function burnBox({ slab, picture }: Pick<Piece, 'slab' | 'picture'>, photo: Size): Box {
  const own = pictureFrame(picture, photo);
  const face = faceBox(slab);
  const { offsetXMm: x, offsetYMm: y } = picture;
  const [a, b] = [own.widthMm / 2, own.heightMm / 2];
  return picture.lettering
    .map((one) => letteringBox(one, picture, own, face))
    .reduce(
      (all, box) => ({
        left: Math.min(all.left, Math.max(face.left, box.left)),
        top: Math.min(all.top, Math.max(face.top, box.top)),
        right: Math.max(all.right, Math.min(face.right, box.right)),
        bottom: Math.max(all.bottom, Math.min(face.bottom, box.bottom)),
      }),
      { left: x - a, top: y - b, right: x + a, bottom: y + b },
    );
}

interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

function faceBox({ shape, widthMm, heightMm, outlineMm }: Slab): Box {
  if (shape !== 'outline') return { left: -widthMm / 2, top: -heightMm / 2, right: widthMm / 2, bottom: heightMm / 2 };
  return boundsMm(outlineMm);
}

function letteringBox(one: Lettering, picture: PictureSettings, own: PictureFrame, face: Box): Box {
  if (one.kind === 'border') {
    if (one.follows === 'rim') return face;
    // A turned line of even width reaches as far beyond its frame's corners as the diagonal of a square.
    const beyond = Math.SQRT2 * Math.max(0, one.distanceMm + one.lineMm / 2);
    const [a, b] = [own.widthMm / 2 + beyond, own.heightMm / 2 + beyond];
    const { offsetXMm: x, offsetYMm: y } = picture;
    return { left: x - a, top: y - b, right: x + a, bottom: y + b };
  }
  if (one.place.along === 'rim') return face;
  const { xMm, yMm, turnRad } = one.place;
  const { acrossMm, aboveMm, belowMm } = textReach(one);
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  return boundsMm(
    [-acrossMm, acrossMm].flatMap((u) =>
      [-aboveMm, belowMm].map((v): Place => [xMm + u * cosine + v * sine, yMm - u * sine + v * cosine]),
    ),
  );
}

const reaches = new WeakMap<Lettering, { acrossMm: number; aboveMm: number; belowMm: number }>();

/** How far a straight line of text reaches to both sides of its middle, and above and below its baseline. */
function textReach(line: Extract<Lettering, { kind: 'text' }>) {
  const known = reaches.get(line);
  if (known) return known;
  const perUnit = line.capMm / (line.capEm * LETTER_UNITS);
  const gap = line.spacing * line.capMm;
  const totalMm = line.letters.reduce((sum, { advance }) => sum + advance * perUnit + gap, 0);
  let [above, below, beside] = [0, 0, 0];
  for (const { advance, outlines } of line.letters) {
    for (const outline of outlines) {
      for (let i = 0; i < outline.length; i += 2) {
        beside = Math.max(beside, -outline[i], outline[i] - advance);
        above = Math.max(above, outline[i + 1]);
        below = Math.max(below, -outline[i + 1]);
      }
    }
  }
  const reach = {
    acrossMm: Math.abs(totalMm) / 2 + Math.abs(gap) + beside * perUnit,
    aboveMm: above * perUnit,
    belowMm: below * perUnit,
  };
  reaches.set(line, reach);
  return reach;
}

/** The crop as the view draws it over a picture's frame; what is cut away otherwise is not burned and shows so. */
export const shownCrop = ({ crop, rotationRad, lettering }: PictureSettings): 'rectangle' | 'oval' =>
  crop === 'oval' && rotationRad === 0 && lettering.length === 0 ? 'oval' : 'rectangle';

type Place = readonly [x: number, y: number];

/** A place of the photograph, seen in a cut: both in shares of their own width from their own left top corner. */
export function intoCut({ xMiddle, yMiddle, width, height, turnRad }: Cut, [x, y]: Place): [number, number] {
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  const [dx, dy] = [x - xMiddle, y - yMiddle];
  return [(dx * cosine + dy * sine + width / 2) / width, (dy * cosine - dx * sine + height / 2) / width];
}

/** The other way: where a place of a cut lies in the photograph. */
export function outOfCut({ xMiddle, yMiddle, width, height, turnRad }: Cut, [u, v]: Place): [number, number] {
  const [cosine, sine] = [Math.cos(turnRad), Math.sin(turnRad)];
  const [dx, dy] = [u * width - width / 2, v * width - height / 2];
  return [xMiddle + dx * cosine - dy * sine, yMiddle + dx * sine + dy * cosine];
}

/** Strokes of a mask, kept in the photograph, as they lie in what is used of it. */
export const strokesInCut = (strokes: readonly BrushStroke[], cut: Cut | null): readonly BrushStroke[] =>
  cut ? strokes.map((stroke) => moved(stroke, 1 / cut.width, (place) => intoCut(cut, place))) : strokes;

/** Strokes that were painted on what is used, as they are kept. */
export const strokesOutOfCut = (strokes: readonly BrushStroke[], cut: Cut | null): readonly BrushStroke[] =>
  cut ? strokes.map((stroke) => moved(stroke, cut.width, (place) => outOfCut(cut, place))) : strokes;

type Marks = PictureMatte['marks'];

/** The same for marks of what stays and goes. */
export const marksInCut = (marks: Marks, cut: Cut | null): Marks =>
  cut ? marks.map((mark) => moved(mark, 1 / cut.width, (place) => intoCut(cut, place))) : marks;

export const marksOutOfCut = (marks: Marks, cut: Cut | null): Marks =>
  cut ? marks.map((mark) => moved(mark, cut.width, (place) => outOfCut(cut, place))) : marks;

const moved = <Stroke extends { points: [number, number][]; radius: number }>(
  stroke: Stroke,
  scale: number,
  to: (place: Place) => [number, number],
): Stroke => ({
  ...stroke,
  points: stroke.points.map(to),
  radius: Math.min(1, Math.max(0.0005, stroke.radius * scale)),
});

/** A rectangle of the placed picture, mm from its left top corner. */
export interface CropBox {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}
