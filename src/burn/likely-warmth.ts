import { lightnessToLuminance } from '../image/lightness.ts';
import { adjustedLightness } from '../image/tone.ts';
import { outputPowerW, spotRadii } from '../physics/beam/source.ts';
import { heatShare } from '../physics/heat/heat-share.ts';
import { spreadLineRise } from '../physics/heat/heat-sources.ts';
import { woodThermal } from '../physics/heat/wood-handbook.ts';
import { travelTimeS, usedRunUpMm } from '../physics/raster/motion.ts';
import { feedOf } from '../physics/raster/pass-time.ts';
import type { Pass, Piece, Tone } from '../piece/schema.ts';
import { burnsAt, type CoarseScene } from './coarse-scene.ts';

/** Rows that count one by one; older ones in tens. */
const NEAR_ROWS = 40;

/** What of a scene burns: places, and their mean luminance once the tones are set, 0–1. */
export interface Light {
  readonly covered: number;
  readonly share: number;
}

export function lightOf(scene: Pick<CoarseScene, 'lightness' | 'mask' | 'alpha'>, tone: Tone): Light {
  const { lightness, mask } = scene;
  const curve = adjustedLightness(tone);
  let covered = 0;
  let open = 0;
  for (let i = 0; i < mask.length; i++) {
    if (!burnsAt(scene, i)) continue;
    covered++;
    if (i % 7 === 0) open += lightnessToLuminance(curve(lightness[i]));
  }
  return { covered, share: covered > 0 ? Math.min(1, (7 * open) / covered) : 0 };
}

/**
 * How warm a pass is likely to find the work on average, K: the row sources of `warmth.ts` for a picture that is the same all over, seen
 * from a row in its middle. For the quick look; the proof works it out place by place.
 */
export function likelyWarmthK(
  piece: Piece,
  pass: Pass,
  scene: Pick<CoarseScene, 'width' | 'height' | 'pitchMm' | 'mask'>,
  { covered, share }: Light,
): number {
  if (covered === 0) return 0;
  const { machine, slab, stack, heat } = piece;
  const { maxFeedMmPerS, accelerationMmPerS2 } = machine.motion;
  const ground = woodThermal(slab.wood.densityKgPerM3);
  const top = stack.coats[0] ?? slab.wood;
  const lightW = outputPowerW(machine.source, pass.lightEndPower);
  const darkW = outputPowerW(machine.source, pass.darkEndPower);
  const feed = feedOf(pass, machine.motion);
  const watts = darkW + (lightW - darkW) * share;
  const heatJPerMm = (heatShare(heat, top) * top.absorptance * watts) / feed;
  const rowMm = (covered / scene.mask.length) * scene.width * scene.pitchMm;
  const lengthMm = rowMm + 2 * usedRunUpMm(feed, machine.motion);
  const backS = travelTimeS(pass.rows === 'one-way' ? lengthMm : pass.rowPitchMm, maxFeedMmPerS, accelerationMmPerS2);
  const periodS = travelTimeS(lengthMm, feed, accelerationMmPerS2) + backS;
  const rows = Math.floor((0.5 * scene.height * scene.pitchMm) / pass.rowPitchMm);
  const { acrossMm } = spotRadii(machine.source, pass);
  let sum = 0;
  let step = 1;
  for (let n = 1; n <= rows; n += step) {
    step = n < NEAR_ROWS ? 1 : 10;
    const at = n + (step - 1) / 2;
    const rise = spreadLineRise(ground, heatJPerMm, acrossMm, at * pass.rowPitchMm, 0, at * periodS);
    sum += step * rise * edgeShare(rowMm, Math.sqrt(2 * ground.diffusivityMm2PerS * at * periodS));
  }
  return Math.round(4 * sum) / 4;
}

/** Mean over a row of the heat that has not yet spread past its ends: about 1 − 0.8·σ / length. */
const edgeShare = (lengthMm: number, sigmaMm: number): number => Math.max(0.2, 1 - (0.8 * sigmaMm) / lengthMm);
