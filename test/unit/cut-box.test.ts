import { describe, expect, test } from 'vitest';
import {
  cutOfRatio,
  isInPhoto,
  keptCut,
  movedCut,
  pulledCut,
  straightBox,
  straightenedCut,
  wholeCut,
} from '../../src/page/image/photo/cut-box.ts';

const TALL = 0.75;
const whole = wholeCut(TALL);

describe('the crop box', () => {
  test('shrinks as the photograph is straightened, touches its edge, and comes back when it is turned back', () => {
    const turned = straightenedCut(whole, 0.1, TALL);
    expect(isInPhoto(turned, TALL)).toBe(true);
    expect(isInPhoto({ ...turned, width: turned.width * 1.001, height: turned.height * 1.001 }, TALL)).toBe(false);
    expect(turned.width / turned.height).toBeCloseTo(4 / 3, 9);
    // What the largest rectangle of 4 : 3 in itself, turned, measures: 1 / (cos + sin · 4/3) across the shorter side.
    expect(turned.width).toBeCloseTo(1 / (Math.cos(0.1) + (4 / 3) * Math.sin(0.1)), 6);
    expect(straightenedCut(whole, 0, TALL)).toEqual(whole);
  });

  test('moves within the photograph only, and slides along its edge', () => {
    const half = { ...whole, width: 0.5, height: 0.3 };
    const moved = movedCut(half, [0.9, 0.1], TALL);
    expect(straightBox(moved, TALL).right).toBeCloseTo(0.5, 6);
    expect(moved.yMiddle).toBeCloseTo(TALL / 2 + 0.1, 9);
    expect([moved.width, moved.height]).toEqual([expect.closeTo(0.5, 9), expect.closeTo(0.3, 9)]);
  });

  test('is pulled by one side or a corner, what is across stays', () => {
    const half = { ...whole, width: 0.5, height: 0.3 };
    const before = straightBox(half, TALL);
    const wide = straightBox(pulledCut(half, [1, 0], [0.1, 0.4], null, TALL), TALL);
    expect(wide).toEqual({
      ...before,
      right: expect.closeTo(0.35, 9),
      left: expect.closeTo(before.left, 9),
      top: expect.closeTo(before.top, 9),
      bottom: expect.closeTo(before.bottom, 9),
    });
    const corner = pulledCut(half, [-1, -1], [-0.1, -0.02], 5 / 3, TALL);
    expect(corner.width / corner.height).toBeCloseTo(5 / 3, 9);
    expect(straightBox(corner, TALL).right).toBeCloseTo(before.right, 9);
    expect(straightBox(corner, TALL).bottom).toBeCloseTo(before.bottom, 9);
    // It never turns inside out, nor leaves the photograph.
    expect(pulledCut(half, [1, 1], [-2, -2], null, TALL).width).toBeCloseTo(0.02, 9);
    expect(isInPhoto(pulledCut({ ...half, turnRad: 0.3 }, [1, 1], [2, 2], 1, TALL), TALL)).toBe(true);
  });

  test('takes a ratio within what it covers, and is kept as nothing where it covers all', () => {
    expect(cutOfRatio(whole, 1)).toMatchObject({ width: 0.75, height: 0.75 });
    expect(keptCut(whole, TALL)).toBeNull();
    const kept = keptCut(straightenedCut(whole, 0.05, TALL), TALL);
    expect(kept && isInPhoto({ ...kept, width: kept.width - 4e-5, height: kept.height - 4e-5 }, TALL)).toBe(true);
  });
});
