import { describe, expect, test } from 'vitest';
import { applyHomography, fitHomography, invertHomography } from '../../src/base/geometry/homography.ts';
import type { Point } from '../../src/base/geometry/outline.ts';
import { bend, fitLens, lensOfPhoto, photoToMm, rectifyPhoto, straighten } from '../../src/vision/slab/rectify.ts';
import { CARD_MM, scaleFromMarks } from '../../src/vision/slab/scale.ts';
import { visibleArea } from '../../src/vision/slab/slab-part.ts';
import { CAMERA, corners, project } from '../helpers/render-slab-photo.ts';

const SQUARE: Point[] = [
  [0, 0],
  [100, 0],
  [100, 100],
  [0, 100],
];
const PHOTO = { width: CAMERA.width, height: CAMERA.height };
const distance = (a: Point | null, b: Point | null): number =>
  a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) : Number.NaN;

describe('fitHomography', () => {
  test('is null on the horizon and beyond it, on this side of it everywhere else', () => {
    const quad: Point[] = [
      [300, 400],
      [700, 400],
      [1000, 900],
      [0, 900],
    ];
    const map = fitHomography(quad, SQUARE);
    // The two sides of the trapezium meet at (500, 66.67): the horizon.
    expect(applyHomography(map, [500, 67])).not.toBeNull();
    expect(applyHomography(map, [500, 66])).toBeNull();
    expect(applyHomography(invertHomography(map), [50, 50])?.[0]).toBeCloseTo(500, 8);
  });

  test.each<[string, Point[], RegExp]>([
    ['too few', SQUARE.slice(0, 3), /at least four points/],
    [
      'on a line',
      [
        [0, 0],
        [50, 0],
        [100, 0],
        [0, 100],
      ],
      /one line/,
    ],
    [
      'coinciding',
      [
        [0, 0],
        [0, 0],
        [100, 100],
        [0, 100],
      ],
      /coincide/,
    ],
    [
      'crossing',
      [
        [0, 0],
        [100, 100],
        [100, 0],
        [0, 100],
      ],
      /cross/,
    ],
    [
      'not numbers',
      [
        [0, 0],
        [Number.NaN, 0],
        [100, 100],
        [0, 100],
      ],
      /must be a number/,
    ],
    [
      'one place',
      [
        [5, 5],
        [5, 5],
        [5, 5],
        [5, 5],
      ],
      /coincide/,
    ],
  ])('refuses points that are %s', (_, from, message) => {
    expect(() => fitHomography(from, SQUARE.slice(0, from.length))).toThrow(RangeError);
    expect(() => fitHomography(from, SQUARE.slice(0, from.length))).toThrow(message);
  });

  test('refuses targets on a line, and pairs that are not pairs', () => {
    const line: Point[] = [
      [0, 0],
      [1, 0],
      [2, 0],
      [3, 0],
    ];
    expect(() => fitHomography(SQUARE, line)).toThrow(/one line/);
    expect(() => fitHomography(SQUARE, SQUARE.slice(1))).toThrow(/paired/);
  });
});

describe('lens', () => {
  test.each([-0.2, 0.15])('k1 = %d bends and straightens to the same place', (k1) => {
    const lens = lensOfPhoto(PHOTO, k1);
    for (const point of [
      [3, 7],
      [560, 450],
      [1000, 120],
    ] as const) {
      const there = straighten(lens, point);
      expect(distance(bend(lens, there), point)).toBeLessThan(1e-9);
    }
    // At the corner r = 1: the place moves to 1 / (1 + k1) of its distance.
    const [x] = straighten(lens, [0, 0]);
    expect(x).toBeCloseTo(PHOTO.width / 2 - PHOTO.width / 2 / (1 + k1), 9);
  });

  test('a planted k1 is found from eight points, and brings a ninth to its place', () => {
    const camera = { ...CAMERA, k1: -0.12 };
    const mm: Point[] = [
      [-200, -150],
      [0, -150],
      [200, -150],
      [200, 0],
      [200, 150],
      [0, 150],
      [-200, 150],
      [-200, 0],
    ];
    const photo = mm.map((point) => project(camera, point));
    const fit = fitLens(PHOTO, photo, mm);
    expect(fit.lens.k1).toBeCloseTo(-0.12, 4);
    const scale = scaleFromMarks(PHOTO, { kind: 'points', photo, mm, findLens: true });
    expect(distance(photoToMm(scale, project(camera, [-90, 60])), [-90, 60])).toBeLessThan(0.01);
    const plain = scaleFromMarks(PHOTO, { kind: 'points', photo, mm });
    expect(distance(photoToMm(plain, project(camera, [-90, 60])), [-90, 60])).toBeGreaterThan(0.3);
  });

  test('four points fit any lens', () => {
    expect(() => fitLens(PHOTO, SQUARE, SQUARE)).toThrow(/at least five/);
  });
});

describe('scaleFromMarks', () => {
  const item = { at: [30, 60] as const, turnRad: 0.3 };
  const card = corners(item).map((point) => project(CAMERA, point));

  test('a card gives true lengths far from it, whichever corner is first and whichever way round', () => {
    const a = project(CAMERA, [-120, -100]);
    const b = project(CAMERA, [130, -40]);
    for (const marks of [card, [...card.slice(1), card[0]], [...card].reverse()]) {
      const scale = scaleFromMarks(PHOTO, { kind: 'card', corners: marks });
      expect(scale.perspectiveCorrected).toBe(true);
      const [p, q] = [photoToMm(scale, a), photoToMm(scale, b)];
      expect(distance(p, q)).toBeCloseTo(Math.hypot(250, 60), 6);
      // Never mirrored: what lies to the right in the photo keeps below to its right.
      const below = photoToMm(scale, [a[0], a[1] + 1]);
      const right = photoToMm(scale, [a[0] + 1, a[1]]);
      const turn = (right![0] - p![0]) * (below![1] - p![1]) - (right![1] - p![1]) * (below![0] - p![0]);
      expect(turn).toBeGreaterThan(0);
    }
    expect(CARD_MM).toEqual({ width: 85.6, height: 53.98 });
  });

  test('a rectangle of known size, and the area of a pixel', () => {
    const marks = (
      [
        [-100, -80],
        [100, -80],
        [100, 80],
        [-100, 80],
      ] as const
    ).map((point) => project(CAMERA, point));
    const scale = scaleFromMarks(PHOTO, { kind: 'rectangle', corners: marks, widthMm: 200, heightMm: 160 });
    const middle = photoToMm(scale, project(CAMERA, [0, 0]));
    expect(distance(middle, [100, 80])).toBeLessThan(1e-6);
    // A pinhole at 900 mm with 2300 pixels of focal length, tilted by 0.2: 900 / 2300 / √cos 0.2.
    expect(scale.pixelMm).toBeCloseTo(900 / 2300 / Math.sqrt(Math.cos(0.2)), 2);
  });

  test('a ruler gives a size and says what it cannot', () => {
    const scale = scaleFromMarks(PHOTO, {
      kind: 'ruler',
      ends: [
        [100, 200],
        [400, 600],
      ],
      lengthMm: 250,
    });
    expect(scale.perspectiveCorrected).toBe(false);
    expect(scale.notes.join()).toMatch(/perspective is not corrected/);
    expect(distance(photoToMm(scale, [10, 10]), photoToMm(scale, [10, 510]))).toBeCloseTo(250, 9);
  });

  test('a card that is a speck is used, with a word about it', () => {
    const speck = card.map(([x, y]): Point => [400 + (x - 400) * 0.2, 400 + (y - 400) * 0.2]);
    expect(scaleFromMarks(PHOTO, { kind: 'card', corners: speck }).notes.join()).toMatch(/takes up only 0\.\d %/);
    expect(scaleFromMarks(PHOTO, { kind: 'card', corners: card }).notes).toEqual([]);
  });

  test('refuses a scale of zero, crossing points and marks outside the photo', () => {
    const rectangle = (widthMm: number) => () =>
      scaleFromMarks(PHOTO, { kind: 'rectangle', corners: card, widthMm, heightMm: 50 });
    expect(rectangle(0)).toThrow(/greater than 0 mm/);
    expect(rectangle(Number.NaN)).toThrow(RangeError);
    expect(() => scaleFromMarks(PHOTO, { kind: 'card', corners: card }, 3)).toThrow(/between −0.5 and 0.5/);
    const crossing = [card[0], card[2], card[1], card[3]];
    expect(() => scaleFromMarks(PHOTO, { kind: 'card', corners: crossing })).toThrow(/cross/);
    const ruler = (ends: Point[]) => () => scaleFromMarks(PHOTO, { kind: 'ruler', ends, lengthMm: 100 });
    expect(
      ruler([
        [5, 5],
        [5, 5],
      ]),
    ).toThrow(/coincide/);
    expect(
      ruler([
        [5, 5],
        [5000, 5],
      ]),
    ).toThrow(/outside the photo/);
    expect(ruler([[5, 5]])).toThrow(/2 marked points/);
  });
});

describe('visibleArea and rectifyPhoto', () => {
  test('what lies beyond the horizon does not make the area endless', () => {
    const low: Point[] = [
      [300, 400],
      [700, 400],
      [1000, 900],
      [0, 900],
    ];
    const photo = { width: 1000, height: 900 };
    const scale = scaleFromMarks(photo, { kind: 'rectangle', corners: low, widthMm: 200, heightMm: 200 });
    const area = visibleArea(photo, scale);
    expect(area.widthMm).toBeGreaterThan(200);
    expect(area.heightMm).toBeGreaterThan(200);
    expect(Math.max(area.widthMm, area.heightMm)).toBeLessThan(2000);
  });

  test('what the photo does not show is transparent; sizes come out as asked', () => {
    const photo = { width: 60, height: 60, rgba: new Uint8Array(4 * 3600).fill(255) };
    const scale = scaleFromMarks(photo, {
      kind: 'ruler',
      ends: [
        [0, 0],
        [60, 0],
      ],
      lengthMm: 30,
    });
    const area = { leftMm: -10, topMm: 0, widthMm: 40, heightMm: 30 };
    const flat = rectifyPhoto(photo, scale, area, 0.5);
    expect([flat.width, flat.height]).toEqual([80, 60]);
    expect(flat.rgba[4 * 19 + 3]).toBe(0);
    expect(flat.rgba[4 * 20 + 3]).toBe(255);
    expect(() => rectifyPhoto(photo, scale, area, 0)).toThrow(/larger than 0 mm/);
    expect(() => rectifyPhoto(photo, scale, area, 0.0001)).toThrow(/too many/);
    expect(() => rectifyPhoto({ ...photo, width: 49 }, scale, area, 1)).toThrow(/49 × 60 pixels/);
  });

  test('black and white shrunk together make half the light, not half the code', () => {
    const rgba = new Uint8Array(4 * 64 * 64).map((_, i) => (i % 4 === 3 || (i >> 2) % 2 ? 255 : 0));
    const photo = { width: 64, height: 64, rgba };
    const scale = scaleFromMarks(photo, {
      kind: 'ruler',
      ends: [
        [0, 0],
        [64, 0],
      ],
      lengthMm: 64,
    });
    const flat = rectifyPhoto(photo, scale, { leftMm: 0, topMm: 0, widthMm: 64, heightMm: 64 }, 4);
    // Half the light of white is code 188 in sRGB.
    expect(flat.rgba[4 * (8 * 16 + 8)]).toBe(188);
  });
});
