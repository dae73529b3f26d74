import { PictureError } from '../picture-error.ts';

/** A picture of 16 bits whose profile is one of tables: no decoder here converts it at its own depth. */
export const tablesOfDeep = (): PictureError =>
  new PictureError(
    'unsupported-encoding',
    'has 16 bits a channel and a colour profile of tables. Convert it to sRGB in an image editor and save it again.',
  );
