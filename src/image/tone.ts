import type { Tone } from '../piece/schema.ts';
import { applyContrast } from './contrast.ts';
import { lightnessToLuminance, luminanceToLightness } from './lightness.ts';
import { createMonotoneCurve } from './monotone-curve.ts';
import type { Picture, ToneImage } from './picture.ts';
import { applyUnsharpMask } from './unsharp-mask.ts';

const CELLS = 65536;

/**
 * Applies the tone controls to a picture that already has the size it is burned at. In this order: exposure in linear light
 * (× 2^EV, clipped at 1), then in lightness contrast, gamma (L^(1/γ), so above 1 lightens the middle), curve, unsharp mask.
 * The mask is 255 × coverage, rounded; not-a-number counts as black.
 * @param pitchMm distance between dots and between rows, mm, > 0; it turns the unsharp mask's radius into dots.
 * @param lightness where it goes; may be the picture's own luminance.
 * @throws RangeError if the pitch is not positive.
 */
export function adjustTone(
  picture: Picture,
  tone: Tone,
  pitchMm: number,
  lightness: Float32Array = new Float32Array(picture.luminance.length),
): ToneImage {
  if (!(pitchMm > 0)) throw new RangeError(`a tone image needs a positive pitch, got ${pitchMm} mm`);
  const { width, height, luminance, alpha } = picture;
  const table = tabulate(createToneCurve(tone));
  const scale = CELLS * 2 ** tone.exposureEv;
  for (let i = 0; i < luminance.length; i++) {
    const at = luminance[i] * scale;
    if (at > 0 && at < CELLS) {
      const cell = at | 0;
      lightness[i] = table[cell] + (table[cell + 1] - table[cell]) * (at - cell);
    } else {
      lightness[i] = at >= CELLS ? table[CELLS] : table[0];
    }
  }
  const mask = new Uint8Array(luminance.length).fill(255);
  if (alpha) for (let i = 0; i < mask.length; i++) mask[i] = alpha[i] * 255 + 0.5;
  const image = { width, height, lightness, mask };
  applyUnsharpMask(image, tone.unsharpMask, pitchMm);
  return image;
}

/** Contrast, gamma and curve as one function, lightness in → lightness out, both 0–1. */
export function createToneCurve(tone: Pick<Tone, 'contrast' | 'gamma' | 'curve'>): (lightness: number) => number {
  const curve = tone.curve.length > 0 ? createMonotoneCurve(tone.curve) : null;
  return (lightness) => {
    const toned = applyContrast(lightness, tone.contrast) ** (1 / tone.gamma);
    return Math.min(1, Math.max(0, curve ? curve(toned) : toned));
  };
}

/** All tone controls but the unsharp mask as one function: lightness of the photo → lightness to burn. */
export function adjustedLightness(tone: Tone): (lightness: number) => number {
  const curve = createToneCurve(tone);
  const gain = 2 ** tone.exposureEv;
  return (lightness) => curve(luminanceToLightness(Math.min(1, gain * lightnessToLuminance(lightness))));
}

/** By luminance after exposure, because a table in even steps of it is fine enough for the eye in the darkest tones too. */
function tabulate(curve: (lightness: number) => number): Float32Array {
  return Float32Array.from({ length: CELLS + 1 }, (_, i) => curve(luminanceToLightness(i / CELLS)));
}
