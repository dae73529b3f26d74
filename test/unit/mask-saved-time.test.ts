import { describe, expect, test } from 'vitest';
import { mmPerMinToMmPerS } from '../../src/base/units.ts';
import { applyVignette } from '../../src/image/mask/vignette.ts';
import { maskSpans } from '../../src/physics/raster/pass-raster.ts';
import { passTime } from '../../src/physics/raster/pass-time.ts';
import { DEFAULT_MACHINE, DEFAULT_PASS } from '../../src/piece/defaults.ts';
import type { Motion, Pass } from '../../src/piece/schema.ts';
import { rowsPerInchToPitchMm } from '../helpers/textbook.ts';

const motion = DEFAULT_MACHINE.motion;
const oval = (width: number, height: number) => applyVignette(null, width, height, 1, { fallOffMm: 0 });

function savedTime(mask: Uint8Array, columns: number, rows: number, pitch: number, pass: Pass, moves: Motion) {
  const timeS = (dots: Uint8Array) =>
    passTime(maskSpans(dots, columns, rows, pass.rows === 'two-way'), pitch, pass, moves).timeS;
  const [wholeS, maskedS] = [timeS(new Uint8Array(columns * rows).fill(255)), timeS(mask)];
  return { wholeS, maskedS, savedS: wholeS - maskedS };
}

describe('time that a mask saves', () => {
  test('an oval saves (1 − π/4) of its rectangle’s length, less what the way along to the next row costs', () => {
    const [width, height, pitch] = [1500, 1200, 0.1];
    const { wholeS, maskedS, savedS } = savedTime(oval(width, height), width, height, pitch, DEFAULT_PASS, motion);
    expect(wholeS - maskedS).toBeCloseTo(savedS, 9);
    const closedS = ((1 - Math.PI / 4) * width * height * pitch) / DEFAULT_PASS.feedMmPerS;
    // Between rows the head moves along by the difference of their ends at the machine's fastest feed: from rest to rest, a few ms.
    expect(savedS).toBeLessThan(closedS);
    expect(savedS).toBeGreaterThan(0.9 * closedS);
  });

  test('half of the columns saves their length in every row, exactly', () => {
    const mask = new Uint8Array(400 * 50).map((_, i) => (i % 400 < 200 ? 255 : 0));
    const { savedS } = savedTime(mask, 400, 50, 0.1, DEFAULT_PASS, motion);
    // Rows stay long enough for the feed to be reached.
    expect(savedS).toBeCloseTo((50 * 20) / DEFAULT_PASS.feedMmPerS, 9);
  });

  test('rows without a dot are not travelled, holes inside a row save nothing', () => {
    const mask = new Uint8Array(400 * 50).fill(255);
    for (let i = 0; i < 400 * 50; i++) if (i % 400 > 50 && i % 400 < 350) mask[i] = 0;
    expect(savedTime(mask, 400, 50, 0.1, DEFAULT_PASS, motion).savedS).toBe(0);
    mask.fill(0, 0, 400 * 25);
    const { wholeS, savedS } = savedTime(mask, 400, 50, 0.1, DEFAULT_PASS, motion);
    expect(savedS / wholeS).toBeCloseTo(0.5, 1);
    expect(savedTime(new Uint8Array(12), 4, 3, 0.1, DEFAULT_PASS, motion).maskedS).toBe(0);
  });

  test('trimming 216 × 267 mm to an oval saves 15–30 minutes (common practice, no published source)', () => {
    const pitch = rowsPerInchToPitchMm(300);
    const [width, height] = [Math.round(216 / pitch), Math.round(267 / pitch)];
    const pass = { ...DEFAULT_PASS, rowPitchMm: pitch, feedMmPerS: mmPerMinToMmPerS(7000) };
    const { savedS } = savedTime(oval(width, height), width, height, pitch, pass, motion);
    expect(savedS / 60).toBeGreaterThan(15);
    expect(savedS / 60).toBeLessThan(30);
  });

  test('a full mask has full rows, every other one backwards if they run two ways', () => {
    const full = new Uint8Array(35).fill(1);
    for (const twoWay of [false, true]) {
      const { first, end, backwards } = maskSpans(full, 7, 5, twoWay);
      expect([...first, ...end]).toEqual([0, 0, 0, 0, 0, 7, 7, 7, 7, 7]);
      expect([...backwards]).toEqual(twoWay ? [0, 1, 0, 1, 0] : [0, 0, 0, 0, 0]);
    }
  });
});
