import { describe, expect, test } from 'vitest';
import { fromBox, type PlacedBox } from '../../src/physics/bed/placed-box.ts';
import { boxByKey, draggedBox, NO_SNAPPING } from '../../src/render/slab/PlaceFrame.tsx';

const BOX: PlacedBox = { centreXMm: 4, centreYMm: -6, widthMm: 100, heightMm: 60, turnRad: 0 };
const DEG = Math.PI / 180;
const key = (name: string, box = BOX) => boxByKey(box, { key: name, shiftKey: false });

describe('keys that place the picture', () => {
  test('arrows go where they point, by 1 mm and with Shift by 10', () => {
    expect(key('ArrowLeft')).toMatchObject({ centreXMm: 3, centreYMm: -6 });
    expect(key('ArrowDown')).toMatchObject({ centreXMm: 4, centreYMm: -5 });
    expect(boxByKey(BOX, { key: 'ArrowUp', shiftKey: true })).toMatchObject({ centreYMm: -16 });
  });

  test('plus and minus undo each other, and so do the brackets', () => {
    expect(key('+')?.widthMm).toBeCloseTo(101, 9);
    expect(key('-', key('=')!)).toMatchObject({ widthMm: expect.closeTo(100, 9), heightMm: expect.closeTo(60, 9) });
    expect(key('[')?.turnRad).toBeCloseTo(DEG, 12);
    expect(key(']', key('[')!)?.turnRad).toBe(0);
    expect(key('}')?.turnRad).toBeCloseTo(-15 * DEG, 12);
  });

  test('0 brings it to the middle; other keys are left alone', () => {
    expect(key('0')).toEqual({ ...BOX, centreXMm: 0, centreYMm: 0 });
    expect(key('a')).toBeNull();
    expect(key('Escape')).toBeNull();
  });
});

describe('the frame under the hand', () => {
  const from = [10, 0] as const;

  test('follows it, and rests on the middle where it snaps', () => {
    const grip = { part: 'whole', box: BOX, from } as const;
    expect(draggedBox(grip, [12, 5], NO_SNAPPING)).toMatchObject({ centreXMm: 6, centreYMm: -1 });
    expect(draggedBox(grip, [12, 5], { mm: 2, rad: 0 })).toMatchObject({ centreXMm: 6, centreYMm: 0 });
  });

  test('turns with it: what was held stays under the hand', () => {
    const top = fromBox(BOX, [0, -40]);
    const grip = { part: 'turn', box: BOX, from: top } as const;
    // From above the middle to its right: a quarter clockwise.
    const turned = draggedBox(grip, [BOX.centreXMm + 40, BOX.centreYMm], NO_SNAPPING);
    expect(turned.turnRad).toBeCloseTo(-Math.PI / 2, 9);
    const [x, y] = fromBox(turned, [0, -40]);
    expect([x, y]).toEqual([expect.closeTo(BOX.centreXMm + 40, 9), expect.closeTo(BOX.centreYMm, 9)]);
    const nearly = draggedBox(grip, [BOX.centreXMm + 40, BOX.centreYMm + 1], { mm: 0, rad: 0.05 });
    expect(nearly.turnRad).toBe(-Math.PI / 2);
  });

  test('a corner that is held stays under the hand', () => {
    const pulled = draggedBox({ part: 2, box: BOX, from: fromBox(BOX, [50, 30]) }, [104, 54], NO_SNAPPING);
    expect(fromBox(pulled, [pulled.widthMm / 2, pulled.heightMm / 2])).toEqual([
      expect.closeTo(104, 9),
      expect.closeTo(54, 9),
    ]);
  });
});
