import { encodeSrgbByte, srgbDecodingTable } from '../base/color/srgb.ts';

/** Rows of a picture in colour, RGBA8 in sRGB; alpha is ignored. */
export interface ColorRows {
  readonly width: number;
  readonly height: number;
  /** The `4 · width` bytes of a row start at `at` of `data`. */
  row(y: number): { readonly data: Uint8Array; readonly at: number };
}

/**
 * A picture in another size, opaque: each new pixel is the mean of what it covers, in linear light, as the eye sees dots from afar.
 * Enlarged, pixels are repeated. Sizes are whole numbers ≥ 1.
 */
export function averageColors(source: ColorRows, width: number, height: number): Uint8ClampedArray<ArrayBuffer> {
  const linear = srgbDecodingTable(8);
  const out = new Uint8ClampedArray(4 * width * height);
  const sums = new Float64Array(3 * width);
  const across = spans(source.width, width);
  const down = spans(source.height, height);
  for (let y = 0; y < height; y++) {
    sums.fill(0);
    for (let k = down.start[y]; k < down.start[y + 1]; k++) {
      const { data, at } = source.row(down.cell[k]);
      for (let x = 0; x < width; x++) {
        for (let j = across.start[x]; j < across.start[x + 1]; j++) {
          const weight = down.weight[k] * across.weight[j];
          const from = at + 4 * across.cell[j];
          sums[3 * x] += weight * linear[data[from]];
          sums[3 * x + 1] += weight * linear[data[from + 1]];
          sums[3 * x + 2] += weight * linear[data[from + 2]];
        }
      }
    }
    for (let x = 0; x < width; x++) {
      const to = 4 * (y * width + x);
      for (let c = 0; c < 3; c++) out[to + c] = encodeSrgbByte(sums[3 * x + c]);
      out[to + 3] = 255;
    }
  }
  return out;
}

/** Which cells each new one covers and with what shares, which add up to 1: those of new cell i are `start[i]` to `start[i + 1] − 1`. */
function spans(from: number, to: number): { start: Int32Array; cell: number[]; weight: number[] } {
  const start = new Int32Array(to + 1);
  const cell: number[] = [];
  const weight: number[] = [];
  const ratio = from / to;
  for (let i = 0; i < to; i++) {
    const low = i * ratio;
    const high = Math.min(from, (i + 1) * ratio);
    if (ratio <= 1) {
      cell.push(Math.min(from - 1, Math.floor((low + high) / 2)));
      weight.push(1);
    } else {
      for (let at = Math.floor(low + 1e-9); at < high - 1e-9; at++) {
        cell.push(at);
        weight.push((Math.min(high, at + 1) - Math.max(low, at)) / (high - low));
      }
    }
    start[i + 1] = cell.length;
  }
  return { start, cell, weight };
}
