import { seenPlane } from '../image/eye-filter.ts';
import { blurGaussian } from '../image/gaussian-blur.ts';
import { luminanceToLightness } from '../image/lightness.ts';
import { LIGHT_AREA_LIGHTNESS } from './clearing.ts';

/** How far a burned picture is off what it should be, as the eye sees both from an arm's length; L*. */
export interface SeenError {
  /** Root of the mean square, and what 95 of 100 places stay below. */
  readonly rms: number;
  readonly p95: number;
  /** Root of the mean square in the light areas; null where the picture has none. */
  readonly light: number | null;
  /** Of what is wider than a millimetre: what is mottled, or too light or too dark on the whole. */
  readonly mottle: number;
  /** How much of the wanted picture's detail finer than a millimetre is there: 1 all of it, above: exaggerated. */
  readonly detail: number;
}

/** Standard deviation of the blur that parts detail from tone, mm. */
const DETAIL_MM = 0.5;

/** Two pictures as luminances (Y, 0–1) on the same cells. `wantedLightness`: lightness of the picture, 0–1, which says what is a light area. */
export interface SeenPictures {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly burned: Float32Array;
  readonly wanted: Float32Array;
  readonly lightness: Float32Array;
  /** 0 where nothing is to be burned. */
  readonly mask: Uint8Array;
}

export function seenError({ width, height, pitchMm, burned, wanted, lightness, mask }: SeenPictures): SeenError {
  const seen = (plane: Float32Array) =>
    seenPlane(plane, width, height, pitchMm).map((luminance) => 100 * luminanceToLightness(luminance));
  const is = seen(burned);
  const should = seen(wanted);
  const off = is.map((value, i) => value - should[i]);
  const wide = (plane: Float32Array) => blurGaussian(plane, width, height, DETAIL_MM / pitchMm);
  const [wideIs, wideShould, wideOff] = [is, should, off].map(wide);
  const sizes: number[] = [];
  let [squares, light, lights, mottle, along, across] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < off.length; i++) {
    if (mask[i] === 0) continue;
    sizes.push(Math.abs(off[i]));
    squares += off[i] ** 2;
    mottle += wideOff[i] ** 2;
    if (lightness[i] >= LIGHT_AREA_LIGHTNESS) {
      light += off[i] ** 2;
      lights++;
    }
    const fine = should[i] - wideShould[i];
    along += fine * (is[i] - wideIs[i]);
    across += fine * fine;
  }
  const count = Math.max(1, sizes.length);
  sizes.sort((a, b) => a - b);
  return {
    rms: Math.sqrt(squares / count),
    p95: sizes[Math.floor(0.95 * sizes.length)] ?? 0,
    light: lights > 0 ? Math.sqrt(light / lights) : null,
    mottle: Math.sqrt(mottle / count),
    detail: across > 0 ? along / across : 1,
  };
}
