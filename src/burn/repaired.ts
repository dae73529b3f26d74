import { lightnessToLuminance, luminancesToLightnesses } from '../image/lightness.ts';
import type { Picture } from '../image/picture.ts';
import { equalizeLocally } from '../image/repair/clahe.ts';
import { findDefects } from '../image/repair/defects.ts';
import { reduceNoise } from '../image/repair/denoise.ts';
import { repairFade } from '../image/repair/fade.ts';
import { inpaint } from '../image/repair/inpaint.ts';
import type { Repair } from '../piece/schema.ts';

/** Widest scratch that is looked for, mm, and how far one must stand out at full strength and at the least, lightness 0–1. */
const SCRATCH_MM = 0.5;
const STANDS_OUT = [0.25, 0.06] as const;
/** Lightness of grain that the strongest noise reduction evens out, 0–1, and its reach, mm. */
const STRONGEST_NOISE = 0.08;
const NOISE_MM = 0.3;

export const isUntouched = ({ fade, localContrast, noise, scratches }: Repair): boolean =>
  fade === 0 && localContrast === 0 && noise === 0 && scratches === 0;

/**
 * The placed picture with what an old print lost put right: scratches filled first, then grain evened, then fading lifted, then
 * local contrast. All of it on lightness, at the size on the slab. @throws Cancelled.
 */
export function repairPicture(picture: Picture, repair: Repair, pitchMm: number, shouldStop: () => boolean): Picture {
  if (isUntouched(repair)) return picture;
  const { width, height, alpha } = picture;
  const mask = alpha ? Uint8Array.from(alpha, (cover) => (cover > 0.5 ? 255 : 0)) : null;
  let plane = luminancesToLightnesses(picture.luminance);
  if (repair.scratches > 0) {
    const radius = Math.min(50, Math.max(1, Math.round(SCRATCH_MM / 2 / pitchMm)));
    const threshold = STANDS_OUT[0] + (STANDS_OUT[1] - STANDS_OUT[0]) * repair.scratches;
    const marked = findDefects(plane, width, height, { radius, threshold, shouldStop });
    plane = inpaint(plane, width, height, marked, shouldStop);
  }
  if (repair.noise > 0) {
    const radius = Math.max(1, Math.round(NOISE_MM / pitchMm));
    plane = reduceNoise(plane, width, height, { radius, strength: STRONGEST_NOISE * repair.noise, shouldStop });
  }
  if (repair.fade > 0) plane = repairFade(plane, width, height, { amount: repair.fade, shouldStop }, mask).plane;
  if (repair.localContrast > 0) {
    plane = equalizeLocally(plane, width, height, { amount: repair.localContrast, shouldStop }, mask);
  }
  return { width, height, luminance: plane.map(lightnessToLuminance), alpha };
}
