import { type Lab, linearRgbToLab, REFERENCE_WHITE, xyzToLinearRgb } from '../../base/color/lab.ts';
import {
  BAND_COUNT,
  BAND_START_NM,
  BAND_STEP_NM,
  type Spectrum,
  type Triple,
  WHITE_XYZ,
  XYZ_WEIGHTS,
} from '../../base/color/spectrum.ts';
import type { Stack, Wood } from '../../piece/schema.ts';
import { knotWood } from '../wood/grain.ts';
import { type CoatOptics, coatOptics, filmReflectance, insideSpectrum, measuredReflectance } from './coat-optics.ts';
import { ASH_ABSORPTION, ASH_SCATTERING, ashUm, charredWood, scorchAbsorption, scorchLevel } from './layers.ts';

/** Steps of what is left of a coat (over its square root, so that thin residues are finely told apart) and of excess dose. */
export const COLUMNS = 512;
const ROWS = 24;
/** On bare wood the excess dose is the picture: finer steps, of dose and of char. */
const BARE_ROWS = 160;
const CHAR_STEPS = 40;
const BARE_CHAR_STEPS = 250;
/** Depth in wood at which the table ends, µm. */
const WOOD_DEPTH_UM = 200;

/**
 * Colour of every state the burn can leave, as linear sRGB (mirror reflection included, as an instrument reads it): Kubelka–Munk
 * film over film over wood, Saunderson, spectral bands to XYZ. The thickness of coats below the one being burned is taken at
 * its mean: they either hide or are reached.
 */
export interface AppearanceTable {
  readonly coats: number;
  /** One over the thickness in µm (of wood: the depth) at the table's end, per layer. */
  readonly perUm: Float64Array;
  readonly rows: number;
  /** One over the excess dose at the table's end, mm²/J. */
  readonly perExcess: number;
  /** Excess dose up to which nothing discolours, J/mm². */
  readonly harmlessExcess: number;
  /** [excess row][layer][column] × rgb, over clear wood. */
  readonly rgb: Float32Array;
  /** The same over a knot. */
  readonly knotRgb: Float32Array;
}

/** Matrix of XYZ to linear sRGB, taken from the colour library once, with the spectral tables' white mapped to its own. */
const RGB_FROM_XYZ: readonly Triple[] = (() => {
  const unit = (k: number): Triple =>
    [0, 1, 2].map((i) => (i === k ? REFERENCE_WHITE[k] / WHITE_XYZ[k] : 0)) as unknown as Triple;
  const columns = [0, 1, 2].map((k) => xyzToLinearRgb(unit(k)));
  return [0, 1, 2].map((i) => [columns[0][i], columns[1][i], columns[2][i]] as Triple);
})();

function insideToLinearRgb(spectrum: Spectrum): Triple {
  let x = 0;
  let y = 0;
  let z = 0;
  for (let i = 0; i < BAND_COUNT; i++) {
    const measured = measuredReflectance(spectrum[i]);
    x += XYZ_WEIGHTS[0][i] * measured;
    y += XYZ_WEIGHTS[1][i] * measured;
    z += XYZ_WEIGHTS[2][i] * measured;
  }
  return RGB_FROM_XYZ.map((row) => row[0] * x + row[1] * y + row[2] * z) as unknown as Triple;
}

function coverWith(coat: CoatOptics, thicknessUm: number, extra: Spectrum | null, ground: Spectrum): Spectrum {
  const out = new Float64Array(BAND_COUNT);
  for (let i = 0; i < BAND_COUNT; i++) {
    const absorption = coat.absorption[i] + (extra ? extra[i] : 0);
    out[i] = filmReflectance(absorption, coat.scattering, thicknessUm / 1000, ground[i]);
  }
  return out;
}

/** Rows of the table are spaced over the square root of the excess dose up to this many onsets. */
const EXCESS_ONSETS = 12;

/**
 * Builds the table. Takes some tens of milliseconds; depends on the stack, the wood and the air that sweeps ash away (0–1).
 * @throws RangeError if a colour cannot be a reflecting surface's.
 */
export function buildAppearance(stack: Stack, wood: Wood, airFlow = 1): AppearanceTable {
  const n = stack.coats.length;
  const knot = knotWood(wood);
  const under = stack.coats[1] ?? wood;
  const onset = Math.max(under.scorchOnsetJPerMm2, 1e-3) / Math.max(under.absorptance, 0.01);
  const knotOnset = Math.max(knot.scorchOnsetJPerMm2, 1e-3) / Math.max(knot.absorptance, 0.01);
  const fullUm = stack.coats.map((coat) => Math.max(1, 2 * coat.dryThicknessUm));
  const optics = stack.coats.map(coatOptics);
  const make = (ground: Wood) =>
    tabulate({ stack, optics, wood: ground, airFlow, fullUm, fullExcess: EXCESS_ONSETS * onset });
  return {
    coats: n,
    perUm: Float64Array.from([...fullUm, WOOD_DEPTH_UM], (full) => 1 / full),
    rows: rowsFor(n),
    perExcess: 1 / (EXCESS_ONSETS * onset),
    harmlessExcess: n >= 2 ? onset : Math.min(onset, knotOnset),
    rgb: make(wood),
    knotRgb: make(knot),
  };
}

const rowsFor = (coats: number): number => (coats === 0 ? BARE_ROWS : ROWS);

interface TableInput {
  readonly stack: Stack;
  readonly optics: readonly CoatOptics[];
  readonly wood: Wood;
  readonly airFlow: number;
  readonly fullUm: readonly number[];
  readonly fullExcess: number;
}

function tabulate({ stack, optics, wood, airFlow, fullUm, fullExcess }: TableInput): Float32Array {
  const n = optics.length;
  const under = stack.coats[1] ?? wood;
  const rows = rowsFor(n);
  const steps = n === 0 ? BARE_CHAR_STEPS : CHAR_STEPS;
  const rgb = new Float32Array(rows * (n + 1) * COLUMNS * 3);
  const perRow = (n + 1) * COLUMNS * 3;
  const woodAt = new Map<number, Spectrum>();
  const charred = (level: number): Spectrum => {
    const key = Math.round(level * steps);
    let spectrum = woodAt.get(key);
    if (!spectrum) {
      spectrum = insideSpectrum(charredWood(wood.colorLab, key / steps, wood.lightnessLoss));
      woodAt.set(key, spectrum);
    }
    return spectrum;
  };
  /** What has been put last is kept: all the wood in one stage of char looks the same where no ash lies on it. */
  let last: { spectrum: Spectrum; color: Triple } | null = null;
  const put = (row: number, layer: number, column: number, spectrum: Spectrum, removedUm: number) => {
    const ash = ashUm(removedUm, airFlow);
    const seen = ash > 0 ? coverWith(ASH, ash, null, spectrum) : spectrum;
    if (last?.spectrum !== seen) last = { spectrum: seen, color: insideToLinearRgb(seen) };
    rgb.set(last.color, ((row * (n + 1) + layer) * COLUMNS + column) * 3);
  };
  /** Coats above each layer, µm. */
  const above = [0];
  for (const coat of stack.coats) above.push(above[above.length - 1] + coat.dryThicknessUm);

  for (let row = 0; row < rows; row++) {
    const excess = fullExcess * (row / (rows - 1)) ** 2;
    const level = scorchLevel(under.absorptance * excess, under.scorchOnsetJPerMm2);
    if (row > 0 && level === 0) {
      // Nothing has scorched yet: the same as with no excess dose.
      rgb.copyWithin(row * perRow, 0, perRow);
      continue;
    }
    // Excess dose goes into what lies under the topmost coat: the next coat, or the wood.
    const woodLevel = n <= 1 ? level : 0;
    const scorch =
      n >= 2 && level > 0
        ? Float64Array.from({ length: BAND_COUNT }, (_, i) => scorchAbsorption(level, BAND_START_NM + i * BAND_STEP_NM))
        : null;
    let ground = charred(woodLevel);
    for (let layer = n - 1; layer >= 0; layer--) {
      const extra = layer === 1 ? scorch : null;
      const dryUm = stack.coats[layer].dryThicknessUm;
      for (let column = 0; column < COLUMNS; column++) {
        const leftUm = fullUm[layer] * (column / (COLUMNS - 1)) ** 2;
        const spectrum = coverWith(optics[layer], leftUm, extra, ground);
        put(row, layer, column, spectrum, above[layer] + Math.max(0, dryUm - leftUm));
      }
      ground = coverWith(optics[layer], dryUm, extra, ground);
    }
    for (let column = 0; column < COLUMNS; column++) {
      const depthUm = WOOD_DEPTH_UM * (column / (COLUMNS - 1)) ** 2;
      const absorbed = depthUm > 0 ? wood.scorchOnsetJPerMm2 + (wood.specificEnergyJPerMm3 * depthUm) / 1000 : 0;
      const own = scorchLevel(absorbed, wood.scorchOnsetJPerMm2);
      put(row, n, column, charred(Math.max(woodLevel, own)), depthUm > 0 ? above[n] + depthUm : 0);
    }
  }
  return rgb;
}

const ASH: CoatOptics = { absorption: ASH_ABSORPTION, scattering: ASH_SCATTERING };

/**
 * Index into `rgb` for a state: which layer is being burned, what is left of it (or how deep the wood is burned), excess dose.
 * Runs for every fine cell: `| 0` and the early outs are for speed.
 */
export function appearanceIndex(table: AppearanceTable, layer: number, leftOrDepthUm: number, excess: number): number {
  const place = leftOrDepthUm * table.perUm[layer];
  const column = place >= 1 ? COLUMNS - 1 : (Math.sqrt(place) * (COLUMNS - 1) + 0.5) | 0;
  const row = excess > table.harmlessExcess ? excessRow(table, excess) : 0;
  return ((row * (table.coats + 1) + layer) * COLUMNS + column) * 3;
}

/** Row of the table for a dose that discolours. */
export function excessRow(table: AppearanceTable, excess: number): number {
  const dose = excess * table.perExcess;
  return dose >= 1 ? table.rows - 1 : (Math.sqrt(dose) * (table.rows - 1) + 0.5) | 0;
}

/** Linear sRGB of the unburned stack. */
export function intactRgb(table: AppearanceTable, stack: Stack): Triple {
  const at = appearanceIndex(table, 0, stack.coats[0]?.dryThicknessUm ?? 0, 0);
  return [table.rgb[at], table.rgb[at + 1], table.rgb[at + 2]];
}

/** L*a*b* of one state. */
export function appearanceLab(table: AppearanceTable, layer: number, leftOrDepthUm: number, excess = 0): Lab {
  const at = appearanceIndex(table, layer, leftOrDepthUm, excess);
  return linearRgbToLab([table.rgb[at], table.rgb[at + 1], table.rgb[at + 2]]);
}

/**
 * Whether taking the topmost coat away (from bare wood: burning it) makes the surface lighter or darker. Decides where the beam
 * burns hard: nobody ticks a box. Quick: does without the table.
 */
export function burnDirection(stack: Stack, wood: Wood): 'lightens' | 'darkens' {
  if (stack.coats.length === 0) return 'darkens';
  return luminance(stackSpectrum(stack, wood, 1)) >= luminance(stackSpectrum(stack, wood, 0)) ? 'lightens' : 'darkens';
}

/** Colour of the unburned stack, linear sRGB, mirror reflection included. Quick: does without the table. */
export const intactColor = (stack: Stack, wood: Wood): Triple => insideToLinearRgb(stackSpectrum(stack, wood, 0));

/** What the coats from one on look like over the wood, inside the film. */
function stackSpectrum(stack: Stack, wood: Wood, from: number): Spectrum {
  const ground = insideSpectrum(wood.colorLab);
  return stack.coats
    .slice(from)
    .reduceRight((under, coat) => coverWith(coatOptics(coat), coat.dryThicknessUm, null, under), ground);
}

const luminance = (spectrum: Spectrum): number =>
  spectrum.reduce((sum, value, i) => sum + XYZ_WEIGHTS[1][i] * measuredReflectance(value), 0);
