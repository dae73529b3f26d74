import { describe, expect, test } from 'vitest';
import { linearRgbToLab } from '../../src/base/color/lab.ts';
import { srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { otsuThreshold } from '../../src/base/geometry/otsu.ts';
import { areaMm2, boundsMm, type Point, type Polygon } from '../../src/base/geometry/outline.ts';
import { components, largestFilled, rasterMask, traceBoundary } from '../../src/base/geometry/raster-mask.ts';
import type { TrueSizePhoto } from '../../src/base/geometry/rgba-photo.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { blobShape } from '../../src/vision/slab/defects.ts';
import { labPlanes } from '../../src/vision/slab/rectify.ts';
import { findSlabOutline, maskDepth, refineEdge } from '../../src/vision/slab/slab-from-photo.ts';

type Rgb = readonly [number, number, number];

/** A photo at 0.5 mm a pixel, its frame off the origin, painted by place in mm, with noise. */
function painted(width: number, height: number, paint: (x: number, y: number) => Rgb | null, noise = 2): TrueSizePhoto {
  const random = createGenerator(11);
  const rgba = new Uint8Array(4 * width * height);
  const [leftMm, topMm] = [-20, 35];
  for (let i = 0; i < width * height; i++) {
    const color = paint(leftMm + ((i % width) + 0.5) / 2, topMm + (Math.floor(i / width) + 0.5) / 2);
    if (!color) continue;
    const bytes = color.map((value) => Math.min(255, Math.max(0, Math.round(value + noise * random.nextNormal()))));
    rgba.set([...bytes, 255], 4 * i);
  }
  return { width, height, rgba, mmPerPixel: 0.5, leftMm, topMm };
}
const TABLE: Rgb = [120, 128, 132];
const WOOD: Rgb = [205, 172, 128];
const disc = (x: number, y: number, at: Point, radius: number): boolean => Math.hypot(x - at[0], y - at[1]) < radius;
const reasonOf = (photo: TrueSizePhoto): string => {
  const found = findSlabOutline(photo);
  return found.kind === 'refused' ? found.reason : found.kind;
};

describe('parts of the search', () => {
  test('L*a*b* agrees with the library', () => {
    const random = createGenerator(3);
    const rgba = Uint8Array.from({ length: 4 * 64 }, () => random.nextUint32() % 256);
    rgba.set([0, 0, 0, 255, 255, 255, 255, 255, 3, 1, 2, 255]);
    const planes = labPlanes({ width: 64, height: 1, rgba });
    const linear = srgbDecodingTable(8);
    for (let i = 0; i < 64; i++) {
      const [L, a, b] = linearRgbToLab([linear[rgba[4 * i]], linear[rgba[4 * i + 1]], linear[rgba[4 * i + 2]]]);
      expect(Math.abs(planes.L[i] - L)).toBeLessThan(0.01);
      expect(Math.abs(planes.a[i] - a)).toBeLessThan(0.01);
      expect(Math.abs(planes.b[i] - b)).toBeLessThan(0.01);
    }
  });

  test('Otsu parts two heaps in the middle of an empty gap', () => {
    const values = [...new Array(900).fill(2), ...new Array(50).fill(20)];
    expect(otsuThreshold(values, 30)).toBeCloseTo(11, 0);
  });

  test('parts joined at a corner are two; holes are filled, bays are not', () => {
    const mask = Uint8Array.from('1100011000001110010101111'.split(''), Number);
    // 11000 / 11000 / 00111 / 00101 / 01111: the ring at the lower right holds one cell.
    expect(components(mask, 5, 5).map((part) => part.cells.length)).toEqual([4, 9]);
    const filled = largestFilled(mask, 5, 5);
    expect(filled?.count).toBe(10);
    expect(filled?.mask[3 * 5 + 3]).toBe(1);
    expect(filled?.mask[0]).toBe(0);
    expect(largestFilled(new Uint8Array(9), 3, 3)).toBeNull();
  });

  test('depth of a mask counts steps from its edge and the grid’s', () => {
    expect([...maskDepth(new Uint8Array(25).fill(1), 5, 5)].slice(10, 15)).toEqual([1, 2, 3, 2, 1]);
    expect([...maskDepth(Uint8Array.of(1, 1, 0, 1), 4, 1)]).toEqual([1, 1, 0, 1]);
  });

  test('an outline as a mask has its area and its place', () => {
    const frame = { width: 60, height: 50, mmPerPixel: 0.5, leftMm: -3, topMm: 2 };
    const box: Point[] = [
      [0, 5],
      [20, 5],
      [20, 15],
      [0, 15],
    ];
    const mask = rasterMask(frame, box);
    expect(mask.reduce((sum, value) => sum + value, 0)).toBe(40 * 20);
    expect(mask.indexOf(1)).toBe(6 * 60 + 6);
    expect(rasterMask(frame, box, 2).reduce((sum, value) => sum + value, 0)).toBe(32 * 12);
  });

  test('moments of a bar: length, breadth, heading', () => {
    const cells: number[] = [];
    for (let x = 10; x < 50; x++) for (let y = 20; y < 24; y++) cells.push(y * 80 + x);
    const shape = blobShape(cells, 80);
    expect([shape.x, shape.y, shape.extent]).toEqual([30, 22, 40]);
    // A rectangle has the second moments of an ellipse 2/√3 as long and broad.
    expect(shape.length).toBeCloseTo((40 * 2) / Math.sqrt(3), 9);
    expect(shape.breadth).toBeCloseTo((4 * 2) / Math.sqrt(3), 9);
    expect(shape.headingRad).toBe(0);
    const slanted = Array.from({ length: 20 }, (_, i) => (19 - i) * 80 + i);
    expect(blobShape(slanted, 80).headingRad).toBeCloseTo((3 * Math.PI) / 4, 9);
  });
});

test('a blurred edge is found half-way, not where a low threshold cuts it', () => {
  const side = 160;
  const radius = (x: number, y: number): number => Math.hypot(x - 81.3, y - 78.6);
  // A logistic edge about as wide as a Gaussian blur of 1.4 pixels, 60 high on one side and 30 on the other.
  const field = Float32Array.from({ length: side * side }, (_, i) => {
    const [x, y] = [(i % side) + 0.5, Math.floor(i / side) + 0.5];
    return (45 + (15 * (x - 81.3)) / 60) / (1 + Math.exp((radius(x, y) - 60) / 0.8));
  });
  const inside = Uint8Array.from(field, (value) => (value > 6 ? 1 : 0));
  const traced = traceBoundary(inside, field, side, side, 6);
  const off = (line: Polygon): number => line.reduce((sum, [x, y]) => sum + radius(x, y) - 60, 0) / line.length;
  expect(off(traced)).toBeGreaterThan(1.2);
  const refined = refineEdge(traced, field, side, side);
  expect(Math.abs(off(refined))).toBeLessThan(0.1);
  for (const [x, y] of refined) expect(Math.abs(radius(x, y) - 60)).toBeLessThan(0.2);
});

describe('findSlabOutline', () => {
  test('a disc: its place and area in the photo’s frame, whatever the light', () => {
    const photo = painted(360, 300, (x, y) => {
      const light = 0.75 + (x + 20) / 500 + ((y - 35) / 500) ** 2;
      const [r, g, b] = disc(x, y, [60, 110], 45) ? WOOD : TABLE;
      return [r * light, g * light, b * light];
    });
    const found = findSlabOutline(photo);
    if (found.kind !== 'found') throw new Error(found.message);
    for (const [x, y] of found.outline) expect(Math.abs(Math.hypot(x - 60, y - 110) - 45)).toBeLessThan(0.25);
    expect(Math.abs(areaMm2(found.outline) / (Math.PI * 45 * 45) - 1)).toBeLessThan(0.004);
    expect(found.notes).toEqual([]);
    expect(found.share).toBeCloseTo((Math.PI * 45 * 45) / (180 * 150), 2);
  });

  test.each([
    ['hard', 0.35, 0.01],
    ['soft', 0.5, 9],
    ['faint', 0.75, 4],
  ])('a %s shadow that it throws on the table is no slab', (_, light, softMm) => {
    const bark: Rgb = [72, 56, 46];
    const photo = painted(400, 320, (x, y) => {
      if (disc(x, y, [70, 105], 41)) return WOOD;
      if (disc(x, y, [70, 105], 45)) return bark;
      const depth = 46 - Math.hypot(x - 84, y - 116);
      const share = 1 - (1 - light) * Math.min(1, Math.max(0, depth / softMm + 0.5));
      // Shares of light, encoded.
      return TABLE.map((value) => value * share ** (1 / 2.2)) as unknown as Rgb;
    });
    const found = findSlabOutline(photo);
    if (found.kind !== 'found') throw new Error(found.message);
    for (const [x, y] of found.outline) expect(Math.abs(Math.hypot(x - 70, y - 105) - 45)).toBeLessThan(0.6);
    expect(Math.abs(areaMm2(found.outline) / (Math.PI * 45 * 45) - 1)).toBeLessThan(0.01);
  });

  test('a dark rim of the table’s own hue, which lies all round, is no shadow', () => {
    const dark = TABLE.map((value) => value * 0.5) as unknown as Rgb;
    const photo = painted(360, 300, (x, y) =>
      disc(x, y, [60, 110], 41) ? WOOD : disc(x, y, [60, 110], 45) ? dark : TABLE,
    );
    const found = findSlabOutline(photo);
    expect(found.kind === 'found' && Math.abs(areaMm2(found.outline) / (Math.PI * 45 * 45) - 1)).toBeLessThan(0.01);
  });

  test('light wood the colour of the table is held together by its bark', () => {
    const photo = painted(360, 300, (x, y) =>
      disc(x, y, [60, 110], 45) && !disc(x, y, [60, 110], 41) ? [60, 45, 35] : TABLE,
    );
    const found = findSlabOutline(photo);
    expect(found.kind === 'found' && Math.abs(areaMm2(found.outline) / (Math.PI * 45 * 45) - 1)).toBeLessThan(0.01);
  });

  test('looks away from a card that is larger than the slab, if told where it is', () => {
    const paint = (x: number, y: number): Rgb =>
      disc(x, y, [30, 80], 22) ? WOOD : x > 70 && x < 150 && y > 90 && y < 140 ? [240, 240, 240] : TABLE;
    const photo = painted(360, 300, paint);
    const all = findSlabOutline(photo);
    expect(all.kind === 'found' && boundsMm(all.outline).right).toBeCloseTo(150, 0);
    const card: Point[] = [
      [68, 88],
      [152, 88],
      [152, 142],
      [68, 142],
    ];
    const found = findSlabOutline(photo, { ignore: [card] });
    expect(found.kind === 'found' && boundsMm(found.outline).right).toBeCloseTo(52, 0);
  });

  test('what the rectified photo does not show is neither table nor slab', () => {
    const photo = painted(360, 300, (x, y) =>
      x + 20 + (y - 35) < 60 ? null : disc(x, y, [80, 115], 40) ? WOOD : TABLE,
    );
    const found = findSlabOutline(photo);
    expect(found.kind === 'found' && Math.abs(areaMm2(found.outline) / (Math.PI * 1600) - 1)).toBeLessThan(0.006);
  });

  test('a slab that runs off the photo on one side is found, with a word', () => {
    const found = findSlabOutline(painted(360, 300, (x, y) => (disc(x, y, [-20, 110], 50) ? WOOD : TABLE)));
    expect(found.kind === 'found' && found.notes.join()).toMatch(/runs off the photo/);
  });

  test.each<[string, string, TrueSizePhoto]>([
    ['a blank picture', 'nothing-stands-out', painted(200, 160, () => TABLE, 0)],
    ['noise', 'nothing-stands-out', painted(200, 160, () => TABLE, 12)],
    ['a slope of light', 'nothing-stands-out', painted(200, 160, (x) => [90 + x, 98 + x, 102 + x])],
    ['a speck', 'too-small', painted(300, 300, (x, y) => (disc(x, y, [50, 110], 7) ? WOOD : TABLE))],
    ['a picture of 49 pixels', 'too-few-pixels', painted(49, 400, () => TABLE)],
    ['nothing shown', 'nothing-stands-out', painted(90, 90, () => null)],
    [
      'a round slab that the photo cuts on all sides',
      'fills-the-photo',
      painted(300, 300, (x, y) => (disc(x, y, [55, 110], 88) ? WOOD : TABLE)),
    ],
  ])('refuses %s: %s', (_, reason, photo) => {
    const found = findSlabOutline(photo);
    expect(reasonOf(photo)).toBe(reason);
    expect(found.kind === 'refused' && found.message.length).toBeGreaterThan(30);
  });
});
