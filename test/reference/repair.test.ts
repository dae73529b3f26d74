import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { equalizeLocally } from '../../src/image/repair/clahe.ts';
import { reduceNoise } from '../../src/image/repair/denoise.ts';
import { inpaint } from '../../src/image/repair/inpaint.ts';
import fixture from '../fixtures/repair/repair.json' with { type: 'json' };

/**
 * scikit-image 0.19.3 and SciPy 1.10.1 on a photograph of 128 × 96 dots that scikit-image ships (test/fixtures/repair/make-repair.py).
 * 16-bit files round to 8e-6.
 */
function read(name: string): { width: number; height: number; values: Float32Array } {
  const image = decode(readFileSync(join(import.meta.dirname, '../fixtures/repair', name)));
  const full = image.depth === 16 ? 65535 : 255;
  return { width: image.width, height: image.height, values: Float32Array.from(image.data, (code) => code / full) };
}
const camera = read('camera.png');
const { width, height } = camera;

function compare(a: Float32Array, b: Float32Array, counts: (i: number) => boolean = () => true) {
  let worst = 0;
  let square = 0;
  let count = 0;
  a.forEach((value, i) => {
    if (!counts(i)) return;
    const difference = Math.abs(value - b[i]);
    worst = Math.max(worst, difference);
    square += difference * difference;
    count++;
  });
  return { worst, rms: Math.sqrt(square / count) };
}

describe('local contrast agrees with equalize_adapthist', () => {
  test.each(fixture.clahe)('clip limit $clipLimit', ({ file, tileDots, clipLimit, nbins }) => {
    // Clip limit there: share of a tile's dots that a bin may hold, made a whole number of dots. Ours: times the mean bin. Its bins
    // are 129 of 16384 levels wide, so 127 of 128 cover the range.
    const bins = nbins - 1;
    const dots = tileDots * tileDots;
    const slopeLimit = (Math.floor(clipLimit * dots) * bins) / dots;
    // It gives all of a bin the curve's value at the bin's upper edge.
    const stepped = camera.values.map((value) => (Math.floor(Math.round(value * 16383) / 129) + 1) / bins - 1e-5);
    const own = equalizeLocally(stepped, width, height, { tiles: width / tileDots, slopeLimit, bins });
    // Tolerance: when it shares out what was clipped, the last round adds a dot to every bin of a row even if fewer are left, so
    // sums come to as much as 1069 of 1024 dots (4.4 %), and its tiles' middles lie half a dot off.
    const { worst, rms } = compare(own, read(file).values);
    expect(worst).toBeLessThan(0.05);
    expect(rms).toBeLessThan(0.014);
    // The untouched picture is many times as far off.
    expect(compare(camera.values, read(file).values).rms).toBeGreaterThan(6 * rms);
  });
});

test("noise reduction is He, Sun and Tang's filter", () => {
  const { file, radius, strength } = fixture.guided;
  const filtered = reduceNoise(camera.values, width, height, { radius, strength });
  // SciPy mirrors the picture at its edges, we leave out what lies beyond.
  const inside = (i: number) => {
    const [x, y] = [i % width, Math.floor(i / width)];
    return Math.min(x, y, width - 1 - x, height - 1 - y) >= 2 * radius;
  };
  const { worst, rms } = compare(filtered, read(file).values, inside);
  // Half a step of the file is 7.6e-6.
  expect(worst).toBeLessThan(8e-6);
  expect(compare(camera.values, read(file).values, inside).rms).toBeGreaterThan(1000 * rms);
});

describe('filling scratches', () => {
  const marks = new Uint8Array(read(fixture.inpaint.marks).values.map((value) => (value > 0.5 ? 255 : 0)));
  const scratched = camera.values.map((value, i) => (marks[i] > 0 ? 1 : value));
  const filled = inpaint(scratched, width, height, marks);
  const biharmonic = read(fixture.inpaint.file).values;
  const atMarks = (i: number) => marks[i] > 0;

  test('comes as near to the unscratched photograph as inpaint_biharmonic', () => {
    const own = compare(filled, camera.values, atMarks).rms;
    const theirs = compare(biharmonic, camera.values, atMarks).rms;
    expect(own).toBeLessThan(1.1 * theirs);
    // An eighth of what the scratches were off.
    expect(own).toBeLessThan(compare(scratched, camera.values, atMarks).rms / 8);
    expect(compare(filled, biharmonic, atMarks).rms).toBeLessThan(0.04);
  });

  test('leaves everything else as it was', () => {
    expect(compare(filled, camera.values, (i) => marks[i] === 0).worst).toBe(0);
  });
});
