import { describe, expect, test } from 'vitest';
import { applyOrientation, type Orientation } from '../../src/image/picture.ts';

/** The stored rows that must turn into the upright rows `012 / 345`, worked out by hand from TIFF 6.0's wording. */
const STORED: Record<Orientation, readonly string[]> = {
  1: ['012', '345'], // row 0 is the top, column 0 the left side
  2: ['210', '543'], // row 0 top, column 0 right
  3: ['543', '210'], // row 0 bottom, column 0 right
  4: ['345', '012'], // row 0 bottom, column 0 left
  5: ['03', '14', '25'], // row 0 left, column 0 top
  6: ['25', '14', '03'], // row 0 right, column 0 top
  7: ['52', '41', '30'], // row 0 right, column 0 bottom
  8: ['30', '41', '52'], // row 0 left, column 0 bottom
};

describe('applyOrientation', () => {
  test.each(Object.entries(STORED))('%s stands upright', (orientation, rows) => {
    const luminance = Float32Array.from(rows.join(''), Number);
    const stored = { width: rows[0].length, height: rows.length, luminance, alpha: luminance.slice() };
    const upright = applyOrientation(stored, Number(orientation) as Orientation);
    expect([upright.width, upright.height]).toEqual([3, 2]);
    expect([...upright.luminance]).toEqual([0, 1, 2, 3, 4, 5]);
    expect(upright.alpha).toEqual(upright.luminance);
  });

  test('takes an empty picture and refuses other numbers', () => {
    const empty = { width: 0, height: 0, luminance: new Float32Array(0), alpha: null };
    expect(applyOrientation(empty, 6)).toEqual(empty);
    expect(() => applyOrientation(empty, 9 as Orientation)).toThrow(RangeError);
  });
});
