/** A decoded photograph in linear light: luminance (CIE Y over that of white, 0–1) and, where it has one, coverage. Row-major. */
export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly luminance: Float32Array;
  /** 0 transparent (never burns) … 1 opaque; null when the file has no transparency. */
  readonly alpha: Float32Array | null;
}

/** A decoded photograph, and what it would be without its cast; null for one without colours. */
export interface DecodedPhoto {
  readonly picture: Picture;
  readonly castless: Picture | null;
}

/**
 * The picture as the burn sees it: lightness (CIE L* / 100, 0–1) at the row pitch, tone controls applied. Not linear light:
 * convert with `lightnessToLuminance` before anything is averaged.
 */
export interface ToneImage {
  readonly width: number;
  readonly height: number;
  readonly lightness: Float32Array;
  /** 0 where nothing may burn, 255 where the picture is. */
  readonly mask: Uint8Array;
}
