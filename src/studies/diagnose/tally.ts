import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import { fromHalfFloat } from '../../base/half-float.ts';
import { LIGHT_AREA_LIGHTNESS, SCORCHED_LEVEL } from '../../burn/clearing.ts';
import type { StripResult } from '../../burn/strip-task.ts';
import { luminanceToLightness } from '../../image/lightness.ts';
import type { ToneImage } from '../../image/picture.ts';
import { octaveOf } from './noise-bands.ts';
import { TILE_MM } from './print-noise.ts';

/** Squares of cells, about half a millimetre wide, in which a proof is summed up while its strips come by. Row-major. */
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
export interface NoiseTiles {
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
  /** Strips in any order; their rows must be cut at multiples of a block's (a power of two up to 8). @throws RangeError. */
  add(strip: StripResult): void;
  sums(): ProofSums;
}

export const TONE_BINS = 128;
const BLOCK_MM = 0.6;
const LARGEST_BLOCK = 8;
/** Range of prepared lightness within which a block's, and a tile's, tone counts as even. */
const EVEN_BLOCK = 0.06;
export const EVEN_TILE = 0.1;
const CELLS = 65535;
/** Depth in wood from which a place counts as burned through, µm; as `reduceStrip` has it. */
const THROUGH_UM = 0.5;

let tables: { lightness: Float32Array; density: Float32Array } | null = null;
function lookUp() {
  tables ??= {
    lightness: Float32Array.from({ length: CELLS + 1 }, (_, i) => 100 * luminanceToLightness(i / CELLS)),
    density: Float32Array.from({ length: CELLS + 1 }, (_, i) => -Math.log10(Math.max(i, 1) / CELLS)),
  };
  return tables;
}

/** Sums up a proof of a prepared picture strip by strip, so that its diagnosis needs no copy of it. */
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

  function add(strip: StripResult): void {
    const { color, relief, fields, y0, rows } = strip;
    if (!color || !relief) throw new RangeError('a strip to sum up needs its surface');
    if (y0 % side !== 0) throw new RangeError(`strips to sum up start at multiples of ${side} rows, got ${y0}`);
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
          if (fields && fields.woodDepthUm[cell] > THROUGH_UM) blocks.through[block]++;
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
