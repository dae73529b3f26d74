import type { Check, Knot, Slab } from '../../piece/schema.ts';

/** Depth of the cracks along a row of places, µm, added to `out`. */
export type CrackRow = (originXMm: number, yMm: number, pitchMm: number, out: Float32Array) => void;

/** What a filler sinks in as it dries, share of the crack's depth and at most, µm (estimates). */
const FILLER_SINK = 0.004;
const FILLER_SINK_UM = 6;

/** A knot that is not filled has dried more than the wood round it and shows a crack across (common practice, no published source). */
export const knotCrack = (knot: Knot, slab: Slab): Check => {
  const outwards = Math.atan2(knot.yMm - slab.pithYMm, knot.xMm - slab.pithXMm);
  const heading = slab.cut === 'plank' ? 0.35 : outwards + 0.2;
  return {
    xMm: knot.xMm,
    yMm: knot.yMm,
    lengthMm: 0.95 * knot.diameterMm,
    headingRad: ((heading % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI),
    widthMm: Math.max(0.25, knot.diameterMm / 22),
    depthMm: 0.8,
    filled: knot.filled,
  };
};

/** A crack as a V whose width and depth run out towards its ends; it wavers a little about its line. */
export function crackRow(check: Check, seed: number): CrackRow {
  const cosine = Math.cos(check.headingRad);
  const sine = Math.sin(check.headingRad);
  const half = check.lengthMm / 2;
  const depthUm = check.filled
    ? Math.min(FILLER_SINK_UM, 1000 * check.depthMm * FILLER_SINK)
    : Math.min(1000 * check.depthMm, 5000);
  const waver = 0.6 * check.widthMm + 0.012 * check.lengthMm;
  const phase = (seed % 628) / 100;
  return (originXMm, yMm, pitchMm, out) => {
    for (let i = 0; i < out.length; i++) {
      const dx = originXMm + (i + 0.5) * pitchMm - check.xMm;
      const dy = yMm - check.yMm;
      const along = (dx * cosine + dy * sine) / half;
      if (along <= -1 || along >= 1) continue;
      const bend = waver * (Math.sin(5.1 * along + phase) * 0.6 + Math.sin(13.7 * along + 2 * phase) * 0.25);
      const across = Math.abs(-dx * sine + dy * cosine - bend);
      const open = 1 - along * along;
      const width = 0.5 * check.widthMm * open;
      if (across < width) out[i] += depthUm * open * (1 - across / width);
    }
  };
}
