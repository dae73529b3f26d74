/** Side of a tile, mm, and measurements along it: 30 × 30 of 42.3 µm each (600 to the inch). */
export const TILE_MM = 1.27;
export const TILE_SAMPLES = 30;

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

/**
 * Graininess and mottle of a whole field of reflection densities (`−log₁₀ Y`), row-major. Each measurement is the mean of the cells whose
 * centres lie in its square, or the nearest cell where the field is coarser than that; what does not fill a tile is left out.
 * @throws RangeError if the field is smaller than one tile or its pitch not positive.
 */
export function printNoise(density: ArrayLike<number>, width: number, height: number, pitchMm: number): PrintNoise {
  if (!(pitchMm > 0)) throw new RangeError(`print noise needs a positive pitch, got ${pitchMm} mm`);
  const across = Math.floor((width * pitchMm) / TILE_MM + 1e-6);
  const down = Math.floor((height * pitchMm) / TILE_MM + 1e-6);
  if (across < 1 || down < 1) throw new RangeError(`print noise needs a field of at least ${TILE_MM} mm square`);
  const columns = sampleRanges(across * TILE_SAMPLES, width, pitchMm);
  const rows = sampleRanges(down * TILE_SAMPLES, height, pitchMm);
  const tiles: TileSums[] = [];
  for (let ty = 0; ty < down; ty++) {
    for (let tx = 0; tx < across; tx++) {
      let sum = 0;
      let squares = 0;
      for (let sy = ty * TILE_SAMPLES; sy < (ty + 1) * TILE_SAMPLES; sy++) {
        for (let sx = tx * TILE_SAMPLES; sx < (tx + 1) * TILE_SAMPLES; sx++) {
          const value = meanOf(density, width, columns[sx], rows[sy]);
          sum += value;
          squares += value * value;
        }
      }
      tiles.push({ count: TILE_SAMPLES * TILE_SAMPLES, sum, squares });
    }
  }
  return noiseOfTiles(tiles);
}

type Range = readonly [number, number];

/** First cell and one past the last of each measurement along an axis. */
function sampleRanges(samples: number, cells: number, pitchMm: number): Range[] {
  const perSample = TILE_MM / TILE_SAMPLES / pitchMm;
  return Array.from({ length: samples }, (_, i): Range => {
    const from = Math.ceil(i * perSample - 0.5 - 1e-6);
    const end = Math.ceil((i + 1) * perSample - 0.5 - 1e-6);
    if (end > from) return [Math.max(0, from), Math.min(cells, end)];
    const nearest = Math.min(cells - 1, Math.floor((i + 0.5) * perSample));
    return [nearest, nearest + 1];
  });
}

function meanOf(values: ArrayLike<number>, width: number, [x0, x1]: Range, [y0, y1]: Range): number {
  let sum = 0;
  for (let y = y0; y < y1; y++) for (let x = x0; x < x1; x++) sum += values[y * width + x];
  return sum / ((x1 - x0) * (y1 - y0));
}
