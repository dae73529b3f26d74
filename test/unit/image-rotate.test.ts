import { describe, expect, test } from 'vitest';
import { rotatePicture } from '../../src/image/picture.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { pictureFrame, turnOf } from '../../src/piece/frame.ts';
import { pictureOf } from '../helpers/burn.ts';

const settings = (rotationRad: number) => ({ ...createPiece('', '').picture, widthMm: 60, rotationRad });

describe('turning a picture', () => {
  test('a quarter turn counter-clockwise moves pixels and changes none', () => {
    const picture = pictureOf(3, 2, (x, y) => (1 + x + 3 * y) / 10);
    const turned = rotatePicture(picture, turnOf(settings(Math.PI / 2)), 2, 3);
    // 1 2 3      3 6
    // 4 5 6  →   2 5
    //            1 4
    expect([...turned.luminance].map((v) => Math.round(10 * v))).toEqual([3, 6, 2, 5, 1, 4]);
    expect([...(turned.alpha ?? [])]).toEqual([1, 1, 1, 1, 1, 1]);
  });

  test('there and back is the picture, but for what a cubic loses', () => {
    const picture = pictureOf(80, 60, (x, y) => 0.5 + 0.3 * Math.sin(x / 6) * Math.cos(y / 9));
    const there = rotatePicture(picture, turnOf(settings(0.3)), 110, 100);
    const back = rotatePicture(there, turnOf(settings(-0.3)), 80, 60);
    let worst = 0;
    for (let y = 5; y < 55; y++) {
      for (let x = 5; x < 75; x++)
        worst = Math.max(worst, Math.abs(back.luminance[y * 80 + x] - picture.luminance[y * 80 + x]));
    }
    expect(worst).toBeLessThan(0.004);
    // Corners of the larger picture are beyond the turned one.
    expect(there.alpha?.[0]).toBe(0);
    expect(there.alpha?.[50 * 110 + 55]).toBeCloseTo(1, 6);
  });

  test('the frame grows with the turn and swaps its sides at a quarter', () => {
    const photo = { width: 300, height: 200 };
    expect(pictureFrame(settings(0), photo)).toEqual({ widthMm: 60, heightMm: 40 });
    expect(pictureFrame(settings(Math.PI / 2), photo)).toEqual({ widthMm: 40, heightMm: 60 });
    const tilted = pictureFrame(settings(Math.PI / 4), photo);
    expect(tilted.widthMm).toBeCloseTo(100 / Math.SQRT2, 9);
  });
});
