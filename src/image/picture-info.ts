import type { Orientation } from './orientation.ts';

export type PictureFormat = 'jpeg' | 'png' | 'webp' | 'tiff';

/** What the head of a picture file says, as stored (before it is turned upright). */
export interface PictureInfo {
  readonly format: PictureFormat;
  readonly width: number;
  readonly height: number;
  readonly orientation: Orientation;
  /** Bits per sample; for palettes, of the index. */
  readonly bitDepth: number;
  readonly hasAlpha: boolean;
  readonly colorModel: 'grey' | 'rgb' | 'palette';
  readonly hasIccProfile: boolean;
}
