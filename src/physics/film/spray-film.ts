import { hashToNormal, hashToUnit } from '../../base/random/lattice-hash.ts';
import type { Application } from '../../piece/schema.ts';
import { unitSpline } from './film.ts';
import { fanMean, fanThickness } from './spray-fan.ts';

type Sprayed = Extract<Application, { kind: 'sprayed' }>;

/** Distance over which a hand keeps its place and speed, mm (estimate; calibrate). */
const HAND_SCALE_MM = 90;
/** Extra paint where the trigger is worked over the edge, and how far it reaches in fan widths (estimate; calibrate). */
const TRIGGER_EXTRA = 0.35;
const TRIGGER_REACH = 0.2;
/** Reach of a fan from its middle in fan widths, beyond which no profile leaves anything that counts. */
const FAN_REACH = 1.25;

/** Smooth random number of unit variance along a stroke. */
function alongStroke(seed: number, stroke: number, uMm: number): number {
  const u = uMm / HAND_SCALE_MM;
  const base = Math.floor(u);
  const weights = unitSpline(u - base);
  let sum = 0;
  for (let k = 0; k < 4; k++) sum += weights[k] * hashToNormal(seed, base - 1 + k, stroke);
  return sum;
}

/**
 * Thickness over its mean at a place on the slab (mm from its centre, y towards the maker) that parallel strokes of a spray fan
 * leave: `Σ_m fan((v − m·s − wobble) / W) / speed`, s = W (1 − overlap), over the mean of an endless even spray. Seeded; belongs to
 * the place, so it is the same at any tiling. Sources of the fan's profiles in `spray-fan.ts`.
 * `halfSpanMm`: half the slab's length along the stroke through that place, for what the trigger leaves.
 */
export function sprayedShare(spray: Sprayed, seed: number, xMm: number, yMm: number, halfSpanMm: number): number {
  const { fan, fanWidthMm, overlap, headingRad, wobbleMm, speedVariation } = spray;
  const cosine = Math.cos(headingRad);
  const sine = Math.sin(headingRad);
  const u = xMm * cosine - yMm * sine;
  const v = xMm * sine + yMm * cosine;
  const spacing = fanWidthMm * (1 - overlap);
  const start = hashToUnit(seed, 0, 0) * spacing;
  const reach = FAN_REACH * fanWidthMm + 4 * wobbleMm;
  const first = Math.ceil((v - start - reach) / spacing);
  const last = Math.floor((v - start + reach) / spacing);
  let sum = 0;
  for (let stroke = first; stroke <= last; stroke++) {
    const lateral = wobbleMm > 0 ? wobbleMm * alongStroke(seed ^ 0x11f3, stroke, u) : 0;
    const speed = speedVariation > 0 ? Math.max(0.3, 1 + speedVariation * alongStroke(seed ^ 0x2b87, stroke, u)) : 1;
    sum += fanThickness(fan, (v - start - stroke * spacing - lateral) / fanWidthMm) / speed;
  }
  const even = (sum * (1 - overlap)) / fanMean(fan);
  if (spray.ends === 'outside') return even;
  const fromEnd = Math.max(0, halfSpanMm - Math.abs(u));
  return even * (1 + TRIGGER_EXTRA * Math.exp(-fromEnd / (TRIGGER_REACH * fanWidthMm)));
}
