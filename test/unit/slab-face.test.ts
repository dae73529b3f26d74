import { describe, expect, test } from 'vitest';
import type { BoundsMm, Polygon } from '../../src/base/geometry/outline.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece } from '../../src/piece/file.ts';
import { fillOutside, pictureFace } from '../../src/vision/slab/face-picture.ts';
import { scaleFromMarks } from '../../src/vision/slab/scale.ts';
import {
  addQuarters,
  slabPart,
  turnBounds,
  turnDefect,
  turnPixels,
  turnPoint,
  turnPolygon,
} from '../../src/vision/slab/slab-part.ts';

describe('quarter turns', () => {
  test('clockwise as seen: what was on top comes to the right', () => {
    expect(turnPoint([0, -10], 1)).toEqual([10, 0]);
    expect(turnPoint([3, -10], -1)).toEqual(turnPoint([3, -10], 3));
    const line: Polygon = [
      [0, 0],
      [7, 0],
      [7, 3],
    ];
    expect(turnPolygon(turnPolygon(turnPolygon(line, 1), 2), 1)).toEqual(
      line.map(([x, y]) => [x + 0, y + 0].map((value) => expect.closeTo(value, 12))),
    );
    expect(addQuarters(3, 2)).toBe(1);
    expect(addQuarters(0, -1)).toBe(3);
    expect(turnBounds({ left: -1, top: -2, right: 5, bottom: 4 }, 1)).toEqual({
      left: -4,
      top: -1,
      right: 2,
      bottom: 5,
    });
  });

  test('pixels go where places go', () => {
    // 3 × 2 pixels, told apart by their red.
    const rgba = Uint8Array.from({ length: 24 }, (_, i) => (i % 4 === 0 ? i / 4 : 255));
    const reds = (quarters: number) => {
      const { width, height, rgba: turned } = turnPixels({ width: 3, height: 2, rgba }, quarters);
      return [width, height, ...Array.from({ length: 6 }, (_, i) => turned[4 * i])];
    };
    expect(reds(0)).toEqual([3, 2, 0, 1, 2, 3, 4, 5]);
    expect(reds(1)).toEqual([2, 3, 3, 0, 4, 1, 5, 2]);
    expect(reds(2)).toEqual([3, 2, 5, 4, 3, 2, 1, 0]);
    expect(reds(3)).toEqual([2, 3, 2, 5, 1, 4, 0, 3]);
  });

  test('a check keeps its heading within half a turn', () => {
    const check = { kind: 'check', xMm: 10, yMm: 0, lengthMm: 9, headingRad: 2, widthMm: 1 } as const;
    const turned = turnDefect(check, 1);
    expect(turned).toMatchObject({ xMm: expect.closeTo(0, 12), yMm: 10 });
    expect(turned.kind === 'check' && turned.headingRad).toBeCloseTo(2 - Math.PI / 2, 12);
  });
});

describe('what lies outside', () => {
  test('takes the colours near it; inside nothing changes', () => {
    // Left half red, right half blue, a ring of green table round both.
    const [width, height] = [24, 20];
    const inside = new Uint8Array(width * height);
    const rgba = new Uint8Array(4 * width * height);
    for (let i = 0; i < width * height; i++) {
      const [x, y] = [i % width, Math.floor(i / width)];
      const within = x >= 4 && x < 20 && y >= 4 && y < 16;
      inside[i] = within ? 1 : 0;
      rgba.set(within ? (x < 12 ? [200, 10, 0, 255] : [0, 10, 200, 255]) : [0, 255, 0, 255], 4 * i);
    }
    const { rgba: filled } = fillOutside({ width, height, rgba }, inside);
    const at = (x: number, y: number) => [...filled.subarray(4 * (y * width + x), 4 * (y * width + x) + 4)];
    for (let i = 0; i < inside.length; i++) {
      if (inside[i]) expect(filled.subarray(4 * i, 4 * i + 4)).toEqual(rgba.subarray(4 * i, 4 * i + 4));
      expect(filled[4 * i + 1]).toBe(10);
    }
    expect(at(2, 10)).toEqual([200, 10, 0, 255]);
    expect(at(22, 10)).toEqual([0, 10, 200, 255]);
  });

  test('a photo of nothing becomes grey', () => {
    const { rgba } = fillOutside({ width: 3, height: 1, rgba: new Uint8Array(12) }, new Uint8Array(3));
    expect([...rgba]).toEqual([128, 128, 128, 255, 128, 128, 128, 255, 128, 128, 128, 255]);
  });
});

/** A photo from straight above, 2 pixels to the mm: a red board of 60 × 30 mm whose left end is blue, on a green table. */
function board() {
  const [width, height] = [240, 160];
  const rgba = new Uint8Array(4 * width * height);
  for (let i = 0; i < width * height; i++) {
    const [x, y] = [i % width, Math.floor(i / width)];
    const within = x >= 60 && x < 180 && y >= 50 && y < 110;
    rgba.set(within ? (x < 80 ? [0, 0, 220, 255] : [220, 0, 0, 255]) : [0, 220, 0, 255], 4 * i);
  }
  const photo = { width, height, rgba };
  const ends = [
    [20, 140],
    [220, 140],
  ] as const;
  return { photo, scale: scaleFromMarks(photo, { kind: 'ruler', ends, lengthMm: 100 }, 0) };
}
const BOARD: Polygon = [
  [-30, -15],
  [30, -15],
  [30, 15],
  [-30, 15],
];

function expectBox(box: BoundsMm, to: BoundsMm): void {
  for (const side of ['left', 'top', 'right', 'bottom'] as const) expect(box[side]).toBeCloseTo(to[side], 9);
}

describe('the picture that is kept', () => {
  // The ruler's first mark is the origin: the board's middle lies at (120, 80) pixels, 50 mm right of it and 30 mm up.
  const shift = [50, -30] as const;

  test('lies where the slab lies, with no table on it', () => {
    const { photo, scale } = board();
    const { width, height, rgba, box } = pictureFace(photo, scale, BOARD, { shift, quarters: 0 });
    expect([width, height]).toEqual([128, 68]);
    expectBox(box, { left: -32, top: -17, right: 32, bottom: 17 });
    for (let i = 0; i < width * height; i++) expect(rgba[4 * i + 1]).toBeLessThan(3);
    const colorAt = (xMm: number, yMm: number) => {
      const at = 4 * (Math.floor((yMm - box.top) * 2) * width + Math.floor((xMm - box.left) * 2));
      return [rgba[at], rgba[at + 2]];
    };
    expect(colorAt(-25, 0)).toEqual([0, 220]);
    expect(colorAt(-15, 0)).toEqual([220, 0]);
    expect(colorAt(-31.5, 0)).toEqual([0, 220]);
  });

  test('turned clockwise the left end is on top', () => {
    const { photo, scale } = board();
    const { width, height, rgba, box } = pictureFace(photo, scale, BOARD, { shift, quarters: 1 });
    expect([width, height]).toEqual([68, 128]);
    expectBox(box, { left: -17, top: -32, right: 17, bottom: 32 });
    const row = (y: number) => 4 * (y * width + width / 2);
    expect([rgba[row(12)], rgba[row(12) + 2]]).toEqual([0, 220]);
    expect([rgba[row(100)], rgba[row(100) + 2]]).toEqual([220, 0]);
  });
});

describe('what a found slab says about a piece’s', () => {
  const off = BOARD.map(([x, y]) => [x + 5, y - 3] as const);
  const photo = { file: 'face.jpg', box: { left: -28, top: -21, right: 40, bottom: 15 } };
  const defects = [
    { kind: 'knot', xMm: 5, yMm: -3, diameterMm: 12 },
    { kind: 'check', xMm: 25, yMm: -3, lengthMm: 20, headingRad: 0.5, widthMm: 0.8 },
  ] as const;

  test('everything speaks of the outline’s own middle, and the piece takes it', () => {
    const part = slabPart({ outline: off, wood: { defects, photo }, maskedRimMm: 6.5 });
    expect(part).toMatchObject({ shape: 'outline', widthMm: 60, heightMm: 30, maskedRimMm: 6.5 });
    expect(part.outlineMm).toContainEqual([-30, -15]);
    expect(part.knots).toMatchObject([{ xMm: 0, yMm: 0, diameterMm: 12, filled: true }]);
    expect(part.checks).toMatchObject([{ xMm: 20, yMm: 0, lengthMm: 20 }]);
    expect(part.photo).toEqual({ file: 'face.jpg', xMm: 1, yMm: 0, widthMm: 68, heightMm: 36, shown: true });
    const piece = createPiece('', '');
    expect(() => checkPiece({ ...piece, slab: { ...piece.slab, ...part } })).not.toThrow();
  });

  test('a drawn outline is not the one that was photographed; the wood stays', () => {
    const part = slabPart({ outline: off, wood: null, maskedRimMm: null });
    expect(part.photo).toBeNull();
    expect('knots' in part || 'maskedRimMm' in part).toBe(false);
  });

  test('a size that no slab has is refused', () => {
    const tiny = BOARD.map(([x, y]) => [x / 20, y / 20] as const);
    expect(() => slabPart({ outline: tiny, wood: null, maskedRimMm: null })).toThrow('3 × 1.5 mm');
  });
});
