import { bridgeGaps } from '../../base/geometry/bridge-gaps.ts';
import { insetOutline } from '../../base/geometry/inset.ts';
import type { Polygon } from '../../base/geometry/point.ts';
import { areaMm2, clockwise, perimeterMm } from '../../base/geometry/polygon.ts';
import { resampleOutline } from '../../base/geometry/resample-outline.ts';
import type { TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { medianRing, smoothRing } from '../../base/geometry/smooth-ring.ts';
import { fitLayers } from './layer-steps.ts';
import { readRimProfile } from './rim-profile.ts';

export interface ZoneOptions {
  /** How far onto the dark rim the masking line is drawn, mm. */
  readonly ontoRimMm: number;
  /** Inset where no rim can be seen, mm. */
  readonly marginMm: number;
  /** How deep to look for the light wood, mm. */
  readonly depthMm: number;
}
export const ZONE_DEFAULTS: ZoneOptions = { ontoRimMm: 1, marginMm: 3, depthMm: 25 };

/** Bark, dark rim and light wood of a slab; insets in mm below each point of `line`. */
export interface SlabZones {
  /** The outline as points about 1 mm apart, to which the insets belong. */
  readonly line: Polygon;
  readonly barkInsetMm: readonly number[];
  readonly woodInsetMm: readonly number[];
  readonly maskInsetMm: readonly number[];
  /** What is left bare of paint is outside this: the masking line. */
  readonly paintable: Polygon;
  /** Share of the outline on which the layers were seen, 0–1. Elsewhere the margin holds. */
  readonly seen: number;
  readonly notes: readonly string[];
}

/** Smoothing along the outline: of the profiles, of the insets; and the gap that is bridged from its two ends, mm. */
const PROFILE_MM = 2;
const MEDIAN_MM = 6;
const INSET_MM = 2;
const GAP_MM = 15;
/** Below this share of the outline the few steps found are taken for chance. */
const LEAST_SEEN = 0.15;

/**
 * Tells bark, dark rim and light wood apart from the lightness below the outline, and draws the masking line: on the dark rim, a
 * little outside the light wood, so that paint runs onto the rim rather than short of it; a rim narrower than twice that is halved.
 * Where there is no rim under the bark, the line goes that far onto the bark. Stretches longer than 15 mm without a step (sawn ends, no
 * bark) get the margin.
 * Accuracy: the masking line lies on the rim along 95 % of rendered slabs. Test: test/unit/slab-from-photo.test.ts.
 * @param outline mm in the photo's frame. @throws RangeError if nothing paintable is left or an option is below zero.
 */
export function findZones(photo: TrueSizePhoto, outline: Polygon, options: Partial<ZoneOptions> = {}): SlabZones {
  const { ontoRimMm, marginMm, depthMm } = { ...ZONE_DEFAULTS, ...options };
  if (!(ontoRimMm >= 0 && marginMm >= 0 && depthMm > 0)) throw new RangeError('margins and depths are at least 0 mm');
  const line = resampleOutline(clockwise(outline), 1);
  const perimeter = perimeterMm(line);
  const pointMm = perimeter / line.length;
  // Twice the area over the perimeter is the radius of a round slab: half of it stays well off the middle.
  const depth = Math.min(depthMm, areaMm2(line) / perimeter);
  const { lightness, stepMm } = readRimProfile(photo, line, depth, PROFILE_MM);
  const layers = lightness.map(fitLayers);
  const seen = layers.filter((found) => found !== null).length / line.length;
  const few = seen < LEAST_SEEN;
  const settle = (of: (found: { bark: number; wood: number }) => number): Float64Array => {
    const raw = layers.map((found) => (found && !few ? of(found) * stepMm : Number.NaN));
    const bridged = bridgeGaps(raw, Math.round(GAP_MM / pointMm));
    // The median would reach into long gaps from their ends; they stay gaps.
    return medianRing(bridged, Math.round(MEDIAN_MM / 2 / pointMm)).map((value, i) =>
      Number.isNaN(bridged[i]) ? Number.NaN : value,
    );
  };
  const woodSeen = settle((found) => found.wood);
  const barkSeen = settle((found) => found.bark);
  const smooth = (insets: Float64Array): number[] => [
    ...smoothRing(
      insets.map((value) => (Number.isNaN(value) ? marginMm : value)),
      INSET_MM / pointMm,
    ),
  ];
  const wood = smooth(woodSeen);
  const bark = smooth(barkSeen.map((value, i) => Math.min(value, woodSeen[i])));
  const mask = smooth(
    woodSeen.map((value, i) => {
      const rim = value - barkSeen[i];
      return rim < RIM_SEEN_MM ? Math.max(0, value - ontoRimMm) : value - Math.min(ontoRimMm, rim / 2);
    }),
  );
  const notes: string[] = [];
  if (few) {
    notes.push(
      `No step from a dark rim to light wood is to be seen; the masking line lies ${marginMm} mm inside the outline. If the slab has bark, the table is too much like it in colour: photograph it on another.`,
    );
  } else if (seen < 0.95) {
    const percent = Math.round(100 * (1 - seen));
    notes.push(
      `On ${percent} % of the outline no dark rim is to be seen; there the masking line lies ${marginMm} mm inside.`,
    );
  }
  return {
    line,
    barkInsetMm: bark,
    woodInsetMm: wood,
    maskInsetMm: mask,
    paintable: insetOutline(line, mask),
    seen: few ? 0 : seen,
    notes,
  };
}

/** A rim thinner than this was not seen but left over by smoothing. */
const RIM_SEEN_MM = 0.2;
