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

/** Values to be screened, handed over row by row. */
export interface RowSource {
  readonly width: number;
  readonly height: number;
  /** 0 where there is no dot; null: dots everywhere. */
  readonly mask: Uint8Array | null;
  /** Writes the values (0–1, area averages in linear light) of row `y` into `row`. */
  readRow(y: number, row: Float32Array): void;
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

/** How a stored picture must be turned to stand upright: values of tag 274 (Orientation) in TIFF 6.0 and Exif. */
export type Orientation = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8;

/** For each orientation: whether rows and columns change places first, then which axes of the upright picture run backwards. */
const TURNS: Record<Orientation, readonly [swap: boolean, backwardsX: boolean, backwardsY: boolean]> = {
  1: [false, false, false],
  2: [false, true, false],
  3: [false, true, true],
  4: [false, false, true],
  5: [true, false, false],
  6: [true, true, false],
  7: [true, true, true],
  8: [true, false, true],
};

/**
 * Turns a picture upright. Orientation 1 returns the picture itself; 5–8 swap width and height.
 * Source: TIFF Revision 6.0 (1992), tag Orientation.
 * @throws RangeError for another orientation.
 */
export function applyOrientation(picture: Picture, orientation: Orientation): Picture {
  const turn = TURNS[orientation];
  if (!turn) throw new RangeError(`an orientation is a whole number from 1 to 8, got ${orientation}`);
  if (orientation === 1) return picture;
  const width = turn[0] ? picture.height : picture.width;
  const height = turn[0] ? picture.width : picture.height;
  const [acrossX, acrossY] = turn[0] ? [picture.width, 1] : [1, picture.width];
  const stepX = turn[1] ? -acrossX : acrossX;
  const stepY = turn[2] ? -acrossY : acrossY;
  const start = (turn[1] ? (width - 1) * acrossX : 0) + (turn[2] ? (height - 1) * acrossY : 0);
  const turnPlane = (plane: Float32Array): Float32Array => {
    const turned = new Float32Array(plane.length);
    for (let y = 0, to = 0; y < height; y++) {
      for (let x = 0, from = start + y * stepY; x < width; x++, from += stepX) turned[to++] = plane[from];
    }
    return turned;
  };
  return { width, height, luminance: turnPlane(picture.luminance), alpha: picture.alpha && turnPlane(picture.alpha) };
}

/**
 * Turns a picture about its middle into a picture of another size whose middle is the same place; counter-clockwise for a positive angle
 * (y grows downwards). Pixels keep their size. Between pixels a cubic (Keys 1981, a = −1/2) in linear light; what lies beyond the
 * picture is transparent. Quarter turns into the right size only move pixels.
 * Test: test/unit/image-rotate.test.ts.
 * @param about the place, pixels from the left top corner, that comes to lie in the middle; the picture's own if left out.
 */
export function rotatePicture(
  picture: Picture,
  { cosine, sine }: { readonly cosine: number; readonly sine: number },
  width: number,
  height: number,
  [aboutX, aboutY]: readonly [number, number] = [picture.width / 2, picture.height / 2],
): Picture {
  const luminance = new Float32Array(width * height);
  const alpha = new Float32Array(width * height);
  const { width: w, height: h } = picture;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const dx = x + 0.5 - width / 2;
      const dy = y + 0.5 - height / 2;
      const u = dx * cosine - dy * sine + aboutX - 0.5;
      const v = dx * sine + dy * cosine + aboutY - 0.5;
      if (u <= -0.5 - 1e-9 || v <= -0.5 - 1e-9 || u >= w - 0.5 + 1e-9 || v >= h - 0.5 + 1e-9) continue;
      const at = y * width + x;
      const value = sample(picture, u, v);
      luminance[at] = value.luminance;
      alpha[at] = value.alpha;
    }
  }
  return { width, height, luminance, alpha };
}

const found = { luminance: 0, alpha: 0 };

const across = new Float64Array(4);

const down = new Float64Array(4);

function sample({ width, height, luminance, alpha }: Picture, u: number, v: number): typeof found {
  const x0 = Math.floor(u + 1e-9);
  const y0 = Math.floor(v + 1e-9);
  cubicWeights(Math.max(0, u - x0), across);
  cubicWeights(Math.max(0, v - y0), down);
  let sum = 0;
  let covered = 0;
  for (let j = 0; j < 4; j++) {
    const row = Math.min(height - 1, Math.max(0, y0 + j - 1)) * width;
    for (let i = 0; i < 4; i++) {
      const weight = across[i] * down[j];
      if (weight === 0) continue;
      const at = row + Math.min(width - 1, Math.max(0, x0 + i - 1));
      const cover = weight * (alpha ? alpha[at] : 1);
      covered += cover;
      sum += cover * luminance[at];
    }
  }
  found.alpha = Math.min(1, Math.max(0, covered));
  found.luminance = covered > 1e-3 ? Math.min(1, Math.max(0, sum / covered)) : 0;
  return found;
}

function cubicWeights(t: number, out: Float64Array): void {
  const t2 = t * t;
  const t3 = t2 * t;
  out[0] = -0.5 * t3 + t2 - 0.5 * t;
  out[1] = 1.5 * t3 - 2.5 * t2 + 1;
  out[2] = -1.5 * t3 + 2 * t2 + 0.5 * t;
  out[3] = 0.5 * t3 - 0.5 * t2;
}
