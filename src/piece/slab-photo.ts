import * as z from '../base/zod.ts';
import { number, text } from './fields.ts';

/** The slab's own face and rim as they were photographed, laid flat at true size. */
export const slabPhotoSchema = z.strictObject({
  /** Name of the image inside the piece file. */
  file: text,
  /** Middle of the image from the slab's centre, y growing downwards, and its size. */
  xMm: number(-3000, 3000),
  yMm: number(-3000, 3000),
  widthMm: number(1, 6000),
  heightMm: number(1, 6000),
  /** Bare wood is shown as photographed; else as the model grows it. */
  shown: z.boolean(),
});
export type SlabPhoto = z.infer<typeof slabPhotoSchema>;
