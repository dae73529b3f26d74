import type { PictureSettings } from './schema.ts';

/** The upright rectangle that a placed picture covers on the slab, mm. */
interface PictureFrame {
  readonly widthMm: number;
  readonly heightMm: number;
}

const snap = (value: number): number => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);

/** Cosine and sine of a picture's turn, exact for quarter turns. */
export const turnOf = ({ rotationRad }: Pick<PictureSettings, 'rotationRad'>): { cosine: number; sine: number } => ({
  cosine: snap(Math.cos(rotationRad)),
  sine: snap(Math.sin(rotationRad)),
});

/** Height of the picture before it is turned: the photo's proportions are kept. */
export const uprightHeightMm = (picture: PictureSettings, photo: { width: number; height: number }): number =>
  (picture.widthMm * photo.height) / photo.width;

/** What a picture covers once it is turned. */
export function pictureFrame(picture: PictureSettings, photo: { width: number; height: number }): PictureFrame {
  const heightMm = uprightHeightMm(picture, photo);
  const { cosine, sine } = turnOf(picture);
  return {
    widthMm: picture.widthMm * Math.abs(cosine) + heightMm * Math.abs(sine),
    heightMm: picture.widthMm * Math.abs(sine) + heightMm * Math.abs(cosine),
  };
}

/** A rectangle of the placed picture, mm from its left top corner. */
export interface CropBox {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}
