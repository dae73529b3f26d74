import { outputPowerW, spotRadii } from '../core/beam/source.ts';
import { lightnessToLuminance } from '../core/image/lightness.ts';
import { adjustedLightness } from '../core/image/tone.ts';
import { spreadLineRise } from '../core/material/heat-sources.ts';
import { woodThermal } from '../core/material/wood-handbook.ts';
import type { Piece } from '../core/piece/schema.ts';
import { fullRunUpMm, travelTimeS } from '../core/raster/motion.ts';
import { feedOf } from '../core/raster/pass-time.ts';
import { burnsAt, type CoarseScene } from './coarse.ts';

/** Rows that count one by one; older ones in tens. */
const NEAR_ROWS = 40;

/**
 * How warm each pass is likely to find the work on average, K: the row sources of `warmth.ts` for a picture that is the same all over, seen
 * from a row in its middle. For the quick look; the proof works it out place by place.
 */
export function likelyWarmthsK(piece: Piece, scene: CoarseScene): number[] {
  const { machine, slab, stack, heat } = piece;
  const ground = woodThermal(slab.wood.densityKgPerM3);
  const top = stack.coats[0] ?? slab.wood;
  let covered = 0;
  for (let i = 0; i < scene.mask.length; i++) if (burnsAt(scene, i)) covered++;
  if (covered === 0) return piece.passes.map(() => 0);
  return piece.passes.map((pass) => {
    const tone = pass.tone ?? piece.picture.tone;
    const curve = adjustedLightness(tone);
    let open = 0;
    for (let i = 0; i < scene.mask.length; i += 7) {
      if (burnsAt(scene, i)) open += lightnessToLuminance(curve(scene.lightness[i]));
    }
    const share = Math.min(1, (7 * open) / covered);
    const lightW = outputPowerW(machine.source, pass.lightEndPower);
    const darkW = outputPowerW(machine.source, pass.darkEndPower);
    const feed = feedOf(pass, machine.motion);
    const watts = darkW + (lightW - darkW) * share;
    const heatJPerMm = (heat.retainedShare * top.absorptance * watts) / feed;
    const rowMm = (covered / scene.mask.length) * scene.width * scene.pitchMm;
    const runUp = Math.min(machine.motion.runUpMm, fullRunUpMm(feed, machine.motion.accelerationMmPerS2));
    const { maxFeedMmPerS, accelerationMmPerS2 } = machine.motion;
    const lengthMm = rowMm + 2 * runUp;
    const backS = travelTimeS(pass.rows === 'one-way' ? lengthMm : pass.rowPitchMm, maxFeedMmPerS, accelerationMmPerS2);
    const periodS = travelTimeS(lengthMm, feed, accelerationMmPerS2) + backS;
    const rows = Math.floor((0.5 * scene.height * scene.pitchMm) / pass.rowPitchMm);
    const { acrossMm } = spotRadii(machine.source, pass);
    let sum = 0;
    for (let n = 1; n <= rows; n += n < NEAR_ROWS ? 1 : 10) {
      const at = n < NEAR_ROWS ? n : n + 4.5;
      const rise = spreadLineRise(ground, heatJPerMm, acrossMm, at * pass.rowPitchMm, 0, at * periodS);
      sum +=
        (n < NEAR_ROWS ? 1 : 10) * rise * edgeShare(rowMm, Math.sqrt(2 * ground.diffusivityMm2PerS * at * periodS));
    }
    return Math.round(4 * sum) / 4;
  });
}

/** Mean over a row of the heat that has not yet spread past its ends: about 1 − 0.8·σ / length. */
const edgeShare = (lengthMm: number, sigmaMm: number): number => Math.max(0.2, 1 - (0.8 * sigmaMm) / lengthMm);
