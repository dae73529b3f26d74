interface Size {
  readonly width: number;
  readonly height: number;
}

/** Lobes of the window to either side. */
const LOBES = 3;
/** Taps are whole numbers that sum to one less than this, so that sums of taps times codes are exact in floating point. */
const UNIT = 2 ** 28;
const MOST_CODE = 65535;

/** For each place of a line: the first sample that counts, how many do, and their taps, `widest` to a place. */
interface Taps {
  readonly first: Int32Array;
  readonly count: Int32Array;
  readonly widest: number;
  readonly taps: Float64Array;
}

const sinc = (x: number): number => (Math.abs(x) < 1e-7 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
const windowed = (x: number): number => (Math.abs(x) >= LOBES ? 0 : sinc(x) * sinc(x / LOBES));

/** Taps that turn a line of `from` samples into one of `to`; widened where that is fewer. */
function lineTaps(from: number, to: number): Taps {
  const step = 1 / (to / from);
  const narrowing = Math.min(1, to / from);
  const reach = LOBES / narrowing;
  const widest = Math.floor(2 * (reach + 1)) + 2;
  const first = new Int32Array(to);
  const count = new Int32Array(to);
  const taps = new Float64Array(to * widest);
  for (let place = 0; place < to; place++) {
    const middle = (place + 0.5) * step;
    let low = Math.max(0, Math.floor(middle - reach));
    let high = Math.min(from - 1, Math.ceil(middle + reach));
    const weights: number[] = [];
    let sum = 0;
    for (let i = low; i <= high; i++) {
      const weight = windowed((i + 0.5 - middle) * narrowing);
      weights.push(weight);
      sum += weight;
    }
    const whole = weights.map((weight) => Math.round((weight / sum) * (UNIT - 1)));
    while (low < high && whole[whole.length - 1] === 0) {
      whole.pop();
      high--;
    }
    while (low < high && whole[0] === 0) {
      whole.shift();
      low++;
    }
    first[place] = low;
    count[place] = whole.length;
    taps.set(whole, place * widest);
  }
  return { first, count, widest, taps };
}

/** A sum of taps times codes back to a code, rounded and held. */
const codeOf = (sum: number): number => {
  const code = (sum + UNIT / 2) / UNIT;
  return code < 0 ? 0 : Math.min(code, MOST_CODE);
};

/**
 * Resamples 16-bit codes with Lanczos' window of three lobes, along the rows and then down the columns, each rounded to codes again.
 * Source and meaning as for `resamplePicture`.
 * @param onLine called before each line of both passes.
 */
export function resampleCodes(codes: Uint16Array, from: Size, to: Size, onLine: (share: number) => void): Uint16Array {
  const across = to.width === from.width ? codes : alongRows(codes, from, to.width, (share) => onLine(share / 2));
  if (to.height === from.height) return across;
  return downColumns(across, from.height, to, (share) => onLine(0.5 + share / 2));
}

function alongRows(codes: Uint16Array, from: Size, width: number, onLine: (share: number) => void): Uint16Array {
  const { first, count, widest, taps } = lineTaps(from.width, width);
  const out = new Uint16Array(width * from.height);
  const row = new Float64Array(from.width);
  for (let y = 0; y < from.height; y++) {
    onLine(y / from.height);
    row.set(codes.subarray(y * from.width, (y + 1) * from.width));
    for (let x = 0; x < width; x++) {
      let sum = 0;
      const end = x * widest + count[x];
      for (let tap = x * widest, i = first[x]; tap < end; tap++, i++) sum += taps[tap] * row[i];
      out[y * width + x] = codeOf(sum);
    }
  }
  return out;
}

/** Four rows at a time, since sums are read and written once for all of them. */
function downColumns(codes: Uint16Array, height: number, to: Size, onLine: (share: number) => void): Uint16Array {
  const { first, count, widest, taps } = lineTaps(height, to.height);
  const { width } = to;
  const out = new Uint16Array(width * to.height);
  const sums = new Float64Array(width);
  for (let y = 0; y < to.height; y++) {
    onLine(y / to.height);
    sums.fill(0);
    for (let k = 0; k < count[y]; k += 4) {
      const row = (i: number) => {
        const at = Math.min(height - 1, first[y] + k + i) * width;
        return codes.subarray(at, at + width);
      };
      const tap = (i: number) => (k + i < count[y] ? taps[y * widest + k + i] : 0);
      addRows(sums, row(0), row(1), row(2), row(3), tap(0), tap(1), tap(2), tap(3));
    }
    const at = y * width;
    for (let x = 0; x < width; x++) out[at + x] = codeOf(sums[x]);
  }
  return out;
}

function addRows(
  sums: Float64Array,
  a: Uint16Array,
  b: Uint16Array,
  c: Uint16Array,
  d: Uint16Array,
  ofA: number,
  ofB: number,
  ofC: number,
  ofD: number,
): void {
  for (let x = 0; x < sums.length; x++) sums[x] += ofA * a[x] + ofB * b[x] + ofC * c[x] + ofD * d[x];
}
