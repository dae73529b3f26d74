import { srgbDecodingTable } from '../../base/color/srgb.ts';
import { fromHalfFloat } from '../../base/half-float.ts';
import { LIGHT_AREA_LIGHTNESS, SCORCHED_LEVEL } from '../../burn/clearing.ts';
import type { SwathResult } from '../../burn/swath-task.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';

/** Squares of cells, about half a millimetre wide, in which a proof is summed up while its swaths come by. Row-major. */
export interface Blocks {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** Cells of the picture, of its light areas, uncleared, scorched, burned through; each per block. */
  readonly picture: Uint8Array;
  readonly light: Uint8Array;
  readonly uncleared: Uint8Array;
  readonly scorched: Uint8Array;
  readonly through: Uint8Array;
  /** Sums over the picture's cells: prepared lightness, and L* of the proof. */
  readonly tone: Float32Array;
  readonly lightness: Float32Array;
  /** 1 where the whole block is light and even in tone, so that all that varies in it is noise. */
  readonly even: Uint8Array;
}

/** Sums by prepared lightness: places, luminance, L*, density; `TONE_BINS` even bins from black to white. */
export interface ToneSums {
  readonly count: Float64Array;
  readonly luminance: Float64Array;
  readonly lightness: Float64Array;
  readonly density: Float64Array;
}

/** Tiles of ISO 13660 over the picture: light cells, sums of density, of its squares and of prepared lightness, range of the latter. */
interface NoiseTiles {
  readonly count: Uint16Array;
  readonly density: Float32Array;
  readonly squares: Float32Array;
  readonly tone: Float32Array;
  readonly lowTone: Float32Array;
  readonly highTone: Float32Array;
  /** Cells of a tile that lies wholly in the picture. */
  readonly full: number;
}

export interface ProofSums {
  readonly blocks: Blocks;
  readonly tones: ToneSums;
  readonly tiles: NoiseTiles;
  /** Octaves finer than a block: variance of L* in even light blocks. */
  readonly fineBands: readonly { readonly cyclesPerMm: number; readonly variance: number }[];
}

export interface ProofTally {
  /** Swaths in any order; their rows must be cut at multiples of a block's (a power of two up to 8). @throws RangeError. */
  add(swath: SwathResult): void;
  sums(): ProofSums;
}

export const TONE_BINS = 128;

const BLOCK_MM = 0.6;

const LARGEST_BLOCK = 8;

/** Range of prepared lightness within which a block's, and a tile's, tone counts as even. */
const EVEN_BLOCK = 0.06;

export const EVEN_TILE = 0.1;

const CELLS = 65535;

let tables: { lightness: Float32Array; density: Float32Array } | null = null;

function lookUp() {
  tables ??= {
    lightness: Float32Array.from({ length: CELLS + 1 }, (_, i) => 100 * luminanceToLightness(i / CELLS)),
    density: Float32Array.from({ length: CELLS + 1 }, (_, i) => -Math.log10(Math.max(i, 1) / CELLS)),
  };
  return tables;
}

/** Sums up a proof of a prepared picture swath by swath, so that its diagnosis needs no copy of it. */
export function createProofTally(tone: ToneImage, pitchMm: number): ProofTally {
  const side = Math.min(LARGEST_BLOCK, 2 ** Math.max(0, Math.round(Math.log2(BLOCK_MM / pitchMm))));
  const width = Math.ceil(tone.width / side);
  const height = Math.ceil(tone.height / side);
  const bytes = () => new Uint8Array(width * height);
  const blocks = {
    width,
    height,
    pitchMm: side * pitchMm,
    picture: bytes(),
    light: bytes(),
    uncleared: bytes(),
    scorched: bytes(),
    through: bytes(),
    tone: new Float32Array(width * height),
    lightness: new Float32Array(width * height),
    even: bytes(),
  };
  const bins = () => new Float64Array(TONE_BINS);
  const tones = { count: bins(), luminance: bins(), lightness: bins(), density: bins() };
  const tilesAcross = Math.ceil((tone.width * pitchMm) / TILE_MM);
  const tileCount = tilesAcross * Math.ceil((tone.height * pitchMm) / TILE_MM);
  const tiles = {
    count: new Uint16Array(tileCount),
    density: new Float32Array(tileCount),
    squares: new Float32Array(tileCount),
    tone: new Float32Array(tileCount),
    lowTone: new Float32Array(tileCount).fill(1),
    highTone: new Float32Array(tileCount),
    full: Math.floor((TILE_MM / pitchMm) ** 2),
  };
  const tileOf = Uint32Array.from({ length: Math.max(tone.width, tone.height) }, (_, i) =>
    Math.floor(((i + 0.5) * pitchMm) / TILE_MM),
  );
  const levels = Math.round(Math.log2(side));
  const fine = Array.from({ length: levels }, () => ({ sum: 0, blocks: 0 }));
  const linear = srgbDecodingTable(8);
  const { lightness: lightnessOf, density: densityOf } = lookUp();
  const rowLightness = new Float32Array(tone.width * side);

  function add(swath: SwathResult): void {
    const { color, relief, through, y0, rows } = swath;
    if (!color || !relief || !through) throw new RangeError('a swath to sum up needs its surface');
    if (y0 % side !== 0) throw new RangeError(`swaths to sum up start at multiples of ${side} rows, got ${y0}`);
    for (let top = 0; top < rows; top += side) {
      const bottom = Math.min(rows, top + side);
      const low = new Float32Array(width).fill(1);
      const high = new Float32Array(width);
      for (let y = top; y < bottom; y++) {
        for (let x = 0; x < tone.width; x++) {
          const at = (y0 + y) * tone.width + x;
          if (tone.mask[at] === 0) continue;
          const cell = y * tone.width + x;
          const block = Math.floor((y0 + y) / side) * width + Math.floor(x / side);
          const Y =
            0.2126 * linear[color[4 * cell]] +
            0.7152 * linear[color[4 * cell + 1]] +
            0.0722 * linear[color[4 * cell + 2]];
          const step = (Y * CELLS + 0.5) | 0;
          const wanted = tone.lightness[at];
          const seen = lightnessOf[step];
          rowLightness[(y - top) * tone.width + x] = seen;
          blocks.picture[block]++;
          blocks.tone[block] += wanted;
          blocks.lightness[block] += seen;
          const bin = Math.min(TONE_BINS - 1, (wanted * TONE_BINS) | 0);
          tones.count[bin]++;
          tones.luminance[bin] += Y;
          tones.lightness[bin] += seen;
          if (relief[2 * cell + 1] > 0 && fromHalfFloat(relief[2 * cell + 1]) >= SCORCHED_LEVEL) {
            blocks.scorched[block]++;
          }
          if (through[cell] > 0) blocks.through[block]++;
          if (color[4 * cell + 3] > 0) blocks.uncleared[block]++;
          const density = densityOf[step];
          tones.density[bin] += density;
          if (wanted < LIGHT_AREA_LIGHTNESS || tone.mask[at] < 255) continue;
          blocks.light[block]++;
          const column = Math.floor(x / side);
          if (wanted < low[column]) low[column] = wanted;
          if (wanted > high[column]) high[column] = wanted;
          const tile = tileOf[y0 + y] * tilesAcross + tileOf[x];
          tiles.count[tile]++;
          tiles.density[tile] += density;
          tiles.squares[tile] += density * density;
          tiles.tone[tile] += wanted;
          if (wanted < tiles.lowTone[tile]) tiles.lowTone[tile] = wanted;
          if (wanted > tiles.highTone[tile]) tiles.highTone[tile] = wanted;
        }
      }
      if (bottom - top < side) continue;
      const blockRow = Math.floor((y0 + top) / side);
      for (let column = 0; column < Math.floor(tone.width / side); column++) {
        const block = blockRow * width + column;
        if (blocks.light[block] < side * side || high[column] - low[column] > EVEN_BLOCK) continue;
        blocks.even[block] = 1;
        addFine(column * side);
      }
    }
  }

  const scratch = new Float32Array(side * side);
  /** The Haar pyramid inside one block, in place. */
  function addFine(x0: number): void {
    for (let y = 0; y < side; y++) {
      for (let x = 0; x < side; x++) scratch[y * side + x] = rowLightness[y * tone.width + x0 + x];
    }
    for (let level = 0, size = side; level < levels; level++, size /= 2) {
      const half = size / 2;
      for (let y = 0; y < half; y++) {
        for (let x = 0; x < half; x++) {
          const at = 2 * y * side + 2 * x;
          const [a, b, c, d] = [scratch[at], scratch[at + 1], scratch[at + side], scratch[at + side + 1]];
          const mean = (a + b + c + d) / 4;
          fine[level].sum += ((a - mean) ** 2 + (b - mean) ** 2 + (c - mean) ** 2 + (d - mean) ** 2) / 4;
          fine[level].blocks++;
          scratch[y * side + x] = mean;
        }
      }
    }
  }

  const sums = (): ProofSums => ({
    blocks,
    tones,
    tiles,
    fineBands: fine.map(({ sum, blocks: count }, level) => ({
      cyclesPerMm: octaveOf(2 ** level * pitchMm),
      variance: count > 0 ? sum / count : 0,
    })),
  });
  return { add, sums };
}

/** Fluctuation of L* in one octave of spatial frequency: its middle in cycles/mm, its variance. */
export interface NoiseBand {
  readonly cyclesPerMm: number;
  readonly variance: number;
}

/** A plane with only some places that count, row-major. */
export interface PartialPlane {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly values: Float32Array;
  /** 0 where a place does not count. */
  readonly counts: Uint8Array;
}

/** Middle of the octave that blocks of two places tell apart: between a quarter and half a cycle per place. */
const octaveOf = (pitchMm: number): number => 1 / (2 * Math.SQRT2 * pitchMm);

/**
 * One step of the Haar pyramid: means of blocks of 2 × 2 places all of which count, and the mean variance inside such blocks, which is
 * what the octave between the two scales holds. Variances of all octaves and of the last means add up to that of the plane.
 */
export function haarStep(plane: PartialPlane): { coarser: PartialPlane; variance: number; blocks: number } {
  const { width, values, counts } = plane;
  const w = Math.floor(width / 2);
  const h = Math.floor(plane.height / 2);
  const coarser = {
    width: w,
    height: h,
    pitchMm: 2 * plane.pitchMm,
    values: new Float32Array(w * h),
    counts: new Uint8Array(w * h),
  };
  let sum = 0;
  let blocks = 0;
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const at = 2 * y * width + 2 * x;
      if (!(counts[at] && counts[at + 1] && counts[at + width] && counts[at + width + 1])) continue;
      const [a, b, c, d] = [values[at], values[at + 1], values[at + width], values[at + width + 1]];
      const mean = (a + b + c + d) / 4;
      sum += ((a - mean) ** 2 + (b - mean) ** 2 + (c - mean) ** 2 + (d - mean) ** 2) / 4;
      blocks++;
      coarser.values[y * w + x] = mean;
      coarser.counts[y * w + x] = 1;
    }
  }
  return { coarser, variance: blocks > 0 ? sum / blocks : 0, blocks };
}

/** Fewer blocks than this tell nothing about a scale. */
const LEAST_BLOCKS = 16;

/** Octaves of a plane from its finest up, for as long as there is enough of it. */
export function noiseBands(plane: PartialPlane): NoiseBand[] {
  const bands: NoiseBand[] = [];
  let level = plane;
  for (;;) {
    const { coarser, variance, blocks } = haarStep(level);
    if (blocks < LEAST_BLOCKS) return bands;
    bands.push({ cyclesPerMm: octaveOf(level.pitchMm), variance });
    level = coarser;
  }
}

/**
 * Noise as it is seen from a distance, L*: root of the octaves' variances, each weighted with the square of the eye's relative contrast
 * sensitivity in its middle. The idea of splitting by scale is that of ISO/IEC 24790, from memory; its own filters are others.
 */
export function seenNoise(bands: readonly NoiseBand[], distanceMm: number): number {
  const weighted = bands.reduce(
    (sum, { cyclesPerMm, variance }) =>
      sum + variance * relativeSensitivity(cyclesPerDeg(cyclesPerMm, distanceMm)) ** 2,
    0,
  );
  return Math.sqrt(weighted);
}

/** What an eye of the standard observer of P. G. J. Barten's model works with; the names are his symbols' meanings. */
interface EyeOptions {
  /** Luminance of what is looked at, cd/m², and pupil diameter, mm. */
  readonly luminanceCdPerM2: number;
  readonly pupilMm: number;
  /** Signal-to-noise ratio k, integration time T (s), field X₀ and largest integration area X_max (°), cycles N_max. */
  readonly signalToNoise: number;
  readonly integrationS: number;
  readonly fieldDeg: number;
  readonly maxAreaDeg: number;
  readonly maxCycles: number;
  /** Quantum efficiency η, photon conversion p, neural noise Φ₀ (s·deg²), lateral inhibition below u₀ (cycles/deg). */
  readonly quantumEfficiency: number;
  readonly photonConversion: number;
  readonly neuralNoise: number;
  readonly inhibitionPerDeg: number;
}

const EYE_DEFAULTS: EyeOptions = {
  luminanceCdPerM2: 20,
  pupilMm: 2.1,
  signalToNoise: 3,
  integrationS: 0.1,
  fieldDeg: 60,
  maxAreaDeg: 12,
  maxCycles: 15,
  quantumEfficiency: 0.03,
  photonConversion: 1.2274e6,
  neuralNoise: 3e-8,
  inhibitionPerDeg: 7,
};

/** `M_opt(u) = exp(−2π²σ²u²)` for a line spread σ in degrees and u in cycles/deg. */
export const opticalTransfer = (perDeg: number, sigmaDeg: number): number =>
  Math.exp(-2 * Math.PI ** 2 * sigmaDeg ** 2 * perDeg ** 2);

/** `σ = √(σ₀² + (C_ab d)²)`, degrees. */
export const lineSpreadDeg = (baseDeg: number, perPupilMmDeg: number, pupilMm: number): number =>
  Math.hypot(baseDeg, perPupilMmDeg * pupilMm);

/** Retinal illuminance with the Stiles–Crawford effect, `E = (π d²/4) L [1 − (d/9.7)² + (d/12.4)⁴]`, trolands. */
export const retinalIlluminance = (luminanceCdPerM2: number, pupilMm: number): number =>
  ((Math.PI * pupilMm ** 2) / 4) * luminanceCdPerM2 * (1 - (pupilMm / 9.7) ** 2 + (pupilMm / 12.4) ** 4);

/** Side of the area over which the eye integrates, degrees: `1/X² = 1/X₀² + 1/X_max² + u²/N_max²`. */
export const integrationSideDeg = (perDeg: number, fieldDeg: number, maxDeg: number, maxCycles: number): number =>
  1 / Math.sqrt(1 / fieldDeg ** 2 + 1 / maxDeg ** 2 + perDeg ** 2 / maxCycles ** 2);

/**
 * Contrast sensitivity of the eye at so many cycles per degree (> 0):
 * `S = (M_opt/k) / √( (2/T)(1/X²)(1/(η p E) + Φ₀/(1 − e^{−(u/u₀)²})) )`.
 * Source: P. G. J. Barten, Contrast Sensitivity of the Human Eye and Its Effects on Image Quality, SPIE 1999; values of the test are those
 * published with the function of the Python package colour-science. Test: test/reference/contrast-sensitivity.test.ts.
 */
export function contrastSensitivity(perDeg: number, eye: EyeOptions = EYE_DEFAULTS): number {
  const sigma = lineSpreadDeg(0.5 / 60, 0.08 / 60, eye.pupilMm);
  const side = integrationSideDeg(perDeg, eye.fieldDeg, eye.maxAreaDeg, eye.maxCycles);
  const illuminance = retinalIlluminance(eye.luminanceCdPerM2, eye.pupilMm);
  const photon = 1 / (eye.quantumEfficiency * eye.photonConversion * illuminance);
  const neural = eye.neuralNoise / (1 - Math.exp(-((perDeg / eye.inhibitionPerDeg) ** 2)));
  return (
    opticalTransfer(perDeg, sigma) /
    eye.signalToNoise /
    Math.sqrt((2 / eye.integrationS) * (1 / side ** 2) * (photon + neural))
  );
}

/** Cycles per degree of what has so many cycles per mm, seen from a distance: `f · 2 D tan(½°)`. */
export const cyclesPerDeg = (cyclesPerMm: number, distanceMm: number): number =>
  cyclesPerMm * 2 * distanceMm * Math.tan(Math.PI / 360);

let peak = 0;

/** Sensitivity over its highest value, 0–1. */
export function relativeSensitivity(perDeg: number): number {
  if (!(perDeg > 0)) return 0;
  if (peak === 0) for (let u = 0.5; u < 8; u += 0.01) peak = Math.max(peak, contrastSensitivity(u));
  return Math.min(1, contrastSensitivity(perDeg) / peak);
}

/** Side of a tile, mm: 30 measurements of 42.3 µm each (600 to the inch). */
export const TILE_MM = 1.27;

/** Sums over the measurements of one tile. */
export interface TileSums {
  readonly count: number;
  readonly sum: number;
  readonly squares: number;
}

export interface PrintNoise {
  /** Fluctuation within tiles, finer than about 0.4 cycles/mm: root of the mean variance, in density. */
  readonly graininess: number;
  /** Fluctuation from tile to tile, coarser than about 0.4 cycles/mm: standard deviation of the tiles' means, in density. */
  readonly mottle: number;
  readonly tiles: number;
}

/**
 * Graininess `√(Σ σᵢ² / n)` and mottle (standard deviation of the mᵢ) of an area, from the mean mᵢ and standard deviation σᵢ of the
 * density in each of its n tiles; both as of a population.
 * Source: ISO 13660:2001 (withdrawn; ISO/IEC 24790 took its place), definitions from memory. It asks for at least 100 tiles; `tiles` says how
 * many there were. Test: test/reference/print-noise.test.ts.
 */
export function noiseOfTiles(tiles: Iterable<TileSums>): PrintNoise {
  let count = 0;
  let variances = 0;
  let means = 0;
  let meanSquares = 0;
  for (const tile of tiles) {
    if (tile.count === 0) continue;
    const mean = tile.sum / tile.count;
    count++;
    means += mean;
    meanSquares += mean * mean;
    variances += Math.max(0, tile.squares / tile.count - mean * mean);
  }
  if (count === 0) return { graininess: 0, mottle: 0, tiles: 0 };
  return {
    graininess: Math.sqrt(variances / count),
    mottle: Math.sqrt(Math.max(0, meanSquares / count - (means / count) ** 2)),
    tiles: count,
  };
}
