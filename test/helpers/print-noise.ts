import { noiseOfTiles, type PrintNoise, TILE_MM, type TileSums } from '../../src/studies/diagnose/tally.ts';

/** Measurements along the side of a tile. */
export const TILE_SAMPLES = 30;

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
