import { describe, expect, test } from 'vitest';
import {
  defectsUnder,
  fitPicture,
  photoPixelsPerInch,
  resolutionSentence,
  roomAroundMm,
} from '../../src/physics/bed/placed-box.ts';
import { createPiece } from '../../src/piece/defaults.ts';

const { slab, picture } = createPiece('', '');
const photo = { width: 900, height: 600 };

describe('fitting the picture in', () => {
  test('a rectangle in a rectangle: the shorter side decides, less margin and tape', () => {
    const board = { ...slab, shape: 'rectangle' as const, widthMm: 200, heightMm: 100, maskedRimMm: 6 };
    const fitted = fitPicture(board, { ...picture, crop: 'rectangle' }, photo, 4);
    // 100 − 2 · 10 = 80 high, 3 : 2.
    expect(fitted?.widthMm).toBeCloseTo(120, 1);
    expect(roomAroundMm(board, { ...picture, crop: 'rectangle', widthMm: 120 }, photo)).toBeCloseTo(4, 9);
    // Off the middle there is less room, and beyond the rim none.
    const off = fitPicture(board, { ...picture, crop: 'rectangle', offsetYMm: 20 }, photo, 4);
    expect(off?.widthMm).toBeCloseTo(60, 1);
    expect(fitPicture(board, { ...picture, offsetYMm: 60 }, photo, 4)).toBeNull();
  });

  test('a rectangle in an oval touches with its corners; turned it fits differently', () => {
    const flat = fitPicture(slab, { ...picture, crop: 'rectangle' }, photo, 0);
    const [a, b] = [(flat?.widthMm ?? 0) / 2, ((flat?.widthMm ?? 0) * 2) / 3 / 2];
    expect((a / 150) ** 2 + (b / 120) ** 2).toBeCloseTo(1, 2);
    const upright = fitPicture(slab, { ...picture, crop: 'rectangle', rotationRad: Math.PI / 2 }, photo, 0);
    const [c, d] = [(upright?.widthMm ?? 0) / 3, (upright?.widthMm ?? 0) / 2];
    expect((c / 150) ** 2 + (d / 120) ** 2).toBeCloseTo(1, 2);
  });

  test('tells when the photo holds less than the rows can show', () => {
    expect(photoPixelsPerInch({ ...picture, widthMm: 254 }, photo)).toBeCloseTo(90, 9);
    const at = (widthMm: number) => resolutionSentence({ ...picture, widthMm }, photo, 25.4 / 300);
    expect(at(60)).toBeNull();
    expect(at(108.857)).toBe(
      'Your photograph gives 210 pixels per inch at this size; 300 rows per inch will not show more detail.',
    );
    expect(at(300)).toContain('enlarged 3.9 times');
  });

  test('counts what of the wood lies under the picture', () => {
    const knot = { xMm: -40, yMm: 0, diameterMm: 20, tiltRad: 0, filled: true };
    const check = { xMm: 0, yMm: 0, lengthMm: 9, headingRad: 0, widthMm: 1, depthMm: 1, filled: false };
    const wood = { ...slab, knots: [knot, { ...knot, xMm: -90 }], checks: [check, { ...check, filled: true }] };
    expect(defectsUnder(wood, { ...picture, widthMm: 120 }, photo)).toEqual({ knots: 1, checks: 1 });
    expect(defectsUnder(wood, { ...picture, widthMm: 120, offsetXMm: 80 }, photo)).toEqual({ knots: 0, checks: 0 });
    // 120 × 80: the second knot's edge lies 20 mm beyond the picture's; moved by 15 mm they stay apart, by 25 mm they cross.
    const left = (mm: number) => defectsUnder(wood, { ...picture, widthMm: 120, offsetXMm: -mm }, photo).knots;
    expect([left(15), left(25)]).toEqual([1, 2]);
    // A corner of its box is none of an oval picture, and a turned one reaches elsewhere.
    const corner = { ...wood, knots: [{ ...knot, xMm: 55, yMm: 35, diameterMm: 8 }] };
    const over = (part: Partial<typeof picture>) =>
      defectsUnder(corner, { ...picture, widthMm: 120, ...part }, photo).knots;
    expect([over({ crop: 'oval' }), over({ crop: 'rectangle' })]).toEqual([0, 1]);
    expect(over({ crop: 'rectangle', rotationRad: Math.PI / 2 })).toBe(0);
    // All of the picture on one large knot.
    expect(
      defectsUnder({ ...wood, knots: [{ ...knot, diameterMm: 300 }] }, { ...picture, widthMm: 20 }, photo).knots,
    ).toBe(1);
  });
});
