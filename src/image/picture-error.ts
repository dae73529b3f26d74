import { InputError } from '../base/input-error.ts';

/** Why a picture file cannot be used. */
export type PictureErrorReason =
  | 'empty'
  | 'not-a-picture'
  | 'unsupported-format'
  | 'unsupported-encoding'
  | 'truncated'
  | 'damaged'
  | 'zero-sized'
  | 'too-large'
  | 'cmyk'
  | 'animated'
  | 'several-pages';

/**
 * A picture file that cannot be used. The message says what is wrong and the way out, without the name of the file; it reads on
 * from it: `"barge.gif" ` + `is a GIF, …`.
 */
export class PictureError extends InputError {
  readonly reason: PictureErrorReason;

  constructor(reason: PictureErrorReason, message: string) {
    super(message);
    this.reason = reason;
  }
}

export const truncated = (): PictureError =>
  new PictureError(
    'truncated',
    'is cut off: part of the picture is missing. Copy or download it again from where it came.',
  );

export const damaged = (what: string): PictureError =>
  new PictureError('damaged', `is damaged (${what}). Open it in an image editor and save it anew as PNG or JPEG.`);

export const unsupportedEncoding = (what: string): PictureError =>
  new PictureError(
    'unsupported-encoding',
    `${what}, which cannot be read here. Save it as an ordinary 8-bit PNG or JPEG.`,
  );
