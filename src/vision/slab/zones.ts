import {
  areaMm2,
  clockwise,
  inwardNormals,
  medianRing,
  type Polygon,
  perimeterMm,
  resampleOutline,
  smoothRing,
} from '../../base/geometry/outline.ts';
import { bridgeGaps, insetOutline } from '../../base/geometry/raster-mask.ts';
import { samplePlane, type TrueSizePhoto } from '../../base/geometry/rgba-photo.ts';
import { blurGaussian } from '../../image/gaussian-blur.ts';
import { labPlanes } from './rectify.ts';

export interface ZoneOptions {
  /** How far onto the dark rim the masking line is drawn, mm. */
  readonly ontoRimMm: number;
  /** Inset where no rim can be seen, mm. */
  readonly marginMm: number;
  /** How deep to look for the light wood, mm. */
  readonly depthMm: number;
}

const ZONE_DEFAULTS: ZoneOptions = { ontoRimMm: 1, marginMm: 3, depthMm: 25 };

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

/** Lightness along inward normals: how light the slab is at each depth below each point of its outline. */
interface RimProfile {
  /** L* at `[point][depth]`; depth k is (k + 0.5) steps below the outline. */
  readonly lightness: readonly Float64Array[];
  readonly stepMm: number;
}

/** More would only cost time: the layers lie near the edge. */
const MOST_DEPTHS = 160;

/**
 * Reads the lightness of a photo along the inward normals of an outline, smoothed along the outline, so that knobs of bark and grain
 * average out while the layers, which follow the outline, stay.
 * @param outline clockwise, at even distances, mm in the photo's frame. @param depthMm how deep to read.
 * @param alongMm standard deviation of the smoothing along the outline.
 */
function readRimProfile(photo: TrueSizePhoto, outline: Polygon, depthMm: number, alongMm: number): RimProfile {
  const { width, height, mmPerPixel, leftMm, topMm } = photo;
  const L = blurGaussian(labPlanes(photo).L, width, height, 0.7);
  const normals = inwardNormals(outline);
  // Half a pixel: the photo's own blur then takes about two steps either side of an edge.
  const stepMm = mmPerPixel / 2;
  const depths = Math.min(MOST_DEPTHS, Math.max(4, Math.floor(depthMm / stepMm)));
  const pointMm = Math.hypot(outline[1][0] - outline[0][0], outline[1][1] - outline[0][1]) || 1;
  const rings = Array.from({ length: depths }, (_, k) => {
    const depth = (k + 0.5) * stepMm;
    const raw = outline.map(([x, y], i) =>
      samplePlane(
        L,
        width,
        height,
        (x + depth * normals[i][0] - leftMm) / mmPerPixel,
        (y + depth * normals[i][1] - topMm) / mmPerPixel,
      ),
    );
    return smoothRing(raw, alongMm / pointMm);
  });
  return { lightness: outline.map((_, i) => Float64Array.from(rings, (ring) => ring[i])), stepMm };
}

/** Where the layers of a rim end, in depths (steps, with fractions) below the outline. */
interface LayerSteps {
  /** Inner edge of the bark: the start of the dark rim; the same as `wood` where no rim can be told from the bark. */
  readonly bark: number;
  /** Start of the light wood. */
  readonly wood: number;
}

/** The wood must be lighter than what lies outside it by this much in L*; rings of most woods differ by less. */
const LEAST_STEP = 9;

/** And by this many times what is left over by three flat layers. */
const LEAST_RATIO = 2;

/** Bark and rim must differ by this much in L* to be told apart. */
const LEAST_RIM = 4;

/** Depths either side of a border that are blurred over from one layer to the next and not held against either. */
const GUARD = 2;

/** A layer is at least this many depths, its blurred ends included: three of its own, lest the blur itself passes for a layer. */
const THINNEST = 2 * GUARD + 3;

/**
 * Fits bark, dark rim and light wood to a profile of lightness: three flat layers whose borders are chosen so that the squares left
 * over are least, the second border being a rise. Borders between depths come from where the profile passes half-way.
 * @param lightness L* by depth, outside first. Null if no clear step to lighter wood is there.
 * Test: test/unit/slab-zones.test.ts.
 */
export function fitLayers(lightness: Float64Array): LayerSteps | null {
  const n = lightness.length;
  const sum = new Float64Array(n + 1);
  const square = new Float64Array(n + 1);
  for (let k = 0; k < n; k++) {
    sum[k + 1] = sum[k] + lightness[k];
    square[k + 1] = square[k] + lightness[k] ** 2;
  }
  const mean = (from: number, to: number): number => (sum[to] - sum[from]) / (to - from);
  const left = (from: number, to: number): number =>
    square[to] - square[from] - (sum[to] - sum[from]) ** 2 / (to - from);
  let best = Number.POSITIVE_INFINITY;
  let bark = 0;
  let wood = 0;
  for (let w = THINNEST; w <= n - THINNEST; w++) {
    const inner = left(w + GUARD, n);
    const light = mean(w + GUARD, n);
    for (let b = 0; b <= w - THINNEST; b = b === 0 ? THINNEST : b + 1) {
      // The outline itself is blurred too: the first depths are half table.
      const outer = b > 0 ? left(GUARD, b - GUARD) : 0;
      const cost = outer + left(b + GUARD, w - GUARD) + inner;
      if (cost < best && light - mean(b + GUARD, w - GUARD) >= LEAST_STEP) [best, bark, wood] = [cost, b, w];
    }
  }
  if (!Number.isFinite(best)) return null;
  const outside = mean(bark + GUARD, wood - GUARD);
  if (mean(wood + GUARD, n) - outside < LEAST_RATIO * Math.sqrt(best / n)) return null;
  const apart = bark > 0 && Math.abs(mean(GUARD, bark - GUARD) - outside) >= LEAST_RIM;
  // The half-way level lies between the rim's own middle and the wood just inside it.
  const rim = apart ? outside : mean(GUARD, wood - GUARD);
  const level = (rim + mean(wood + GUARD, Math.min(n, wood + 4 * GUARD))) / 2;
  const woodAt = passing(lightness, level, wood);
  if (!apart) return { bark: woodAt, wood: woodAt };
  const border = passing(lightness, (mean(GUARD, bark - GUARD) + rim) / 2, bark);
  return { bark: Math.min(border, woodAt), wood: woodAt };
}

/** Depth nearest to a border at which the profile passes a level, within four steps of it; the border itself if it does not. */
function passing(lightness: Float64Array, level: number, border: number): number {
  let best = border;
  let nearest = 2 * GUARD;
  for (let k = Math.max(0, border - 3 * GUARD); k < Math.min(lightness.length - 1, border + 2 * GUARD); k++) {
    const from = lightness[k];
    const to = lightness[k + 1];
    if (from === to || (from - level) * (to - level) > 0) continue;
    const at = k + 0.5 + (level - from) / (to - from);
    if (Math.abs(at - border) < nearest) {
      nearest = Math.abs(at - border);
      best = at;
    }
  }
  return best;
}
