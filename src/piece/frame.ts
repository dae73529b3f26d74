import type { BrushStroke, Cut, PictureMatte, PictureSettings } from './schema.ts';

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

/** What a picture covers once it is turned. */
export function pictureFrame(picture: PictureSettings, photo: Size): PictureFrame {
  const heightMm = uprightHeightMm(picture, photo);
  const { cosine, sine } = turnOf(picture);
  return {
    widthMm: picture.widthMm * Math.abs(cosine) + heightMm * Math.abs(sine),
    heightMm: picture.widthMm * Math.abs(sine) + heightMm * Math.abs(cosine),
  };
}

/** The crop as the view draws it over a picture's frame; what is cut away otherwise is not burned and shows so. */
export const shownCrop = ({ crop, rotationRad }: PictureSettings): 'rectangle' | 'oval' =>
  crop === 'oval' && rotationRad === 0 ? 'oval' : 'rectangle';

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
