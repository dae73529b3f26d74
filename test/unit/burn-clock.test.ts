import { describe, expect, it } from 'vitest';
import { createPassRaster, type RowSpans } from '../../src/physics/raster/pass-raster.ts';
import { burnPlace, courseTimeS, passCourse, passTime } from '../../src/physics/raster/pass-time.ts';
import { createPiece } from '../../src/piece/defaults.ts';

const piece = createPiece('', '');
const pass = { ...piece.passes[0], feedMmPerS: 100, rowPitchMm: 0.1 };
const motion = { ...piece.machine.motion, accelerationMmPerS2: 1000, maxFeedMmPerS: 100, runUpMm: 50 };
const raster = createPassRaster(50, 1, 0.1, 0);
const spans: RowSpans = {
  first: Int32Array.from({ length: 10 }, (_, row) => (row === 4 ? 0 : 10)),
  end: Int32Array.from({ length: 10 }, (_, row) => (row === 4 ? 0 : 490)),
  backwards: Uint8Array.from({ length: 10 }, (_, row) => (row < 4 ? row % 2 : (row + 1) % 2)),
};
const course = passCourse(spans, raster, pass, motion);

describe('where a burn is', () => {
  it('takes as long as the pass', () => {
    expect(course.timeS).toBeCloseTo(passTime(spans, 0.1, pass, motion).timeS, 9);
    expect([...course.row]).toEqual([0, 1, 2, 3, 5, 6, 7, 8, 9]);
  });

  it('begins on the first row before its first dot and ends on the last after its last', () => {
    expect(burnPlace([course], 0)).toMatchObject({ pass: 0, row: 0, column: 10, firing: false });
    const end = burnPlace([course], course.timeS);
    expect(end).toMatchObject({ row: 9, leftS: 0, firing: false });
    expect(end.column).toBeCloseTo(course.backwards[8] ? 10 : 490, 3);
  });

  it('is in the middle of a row at the middle of its time, on its way forth or back', () => {
    for (const i of [0, 1, 5]) {
      const place = burnPlace([course], (course.startS[i] + course.endS[i]) / 2);
      expect(place.row).toBe(course.row[i]);
      expect(place.column).toBeCloseTo(250, 1);
      expect(place.firing).toBe(true);
      expect(place.forwards).toBe(course.backwards[i] === 0);
    }
  });

  it('moves over the picture at the feed', () => {
    // Full run-up at 1000 mm/s² to 100 mm/s takes 0.1 s over 5 mm; then 10 mm are 0.1 s.
    const place = burnPlace([course], course.startS[0] + 0.1 + 0.1);
    expect((place.column - 10) * 0.1).toBeCloseTo(10, 3);
  });

  it('goes from pass to pass, and no time is left at the end', () => {
    const two = [course, course];
    expect(courseTimeS(two)).toBeCloseTo(2 * course.timeS, 6);
    const second = burnPlace(two, course.timeS + course.startS[2] + 0.15);
    expect(second).toMatchObject({ pass: 1, row: 2 });
    expect(second.leftS).toBeCloseTo(course.timeS - course.startS[2] - 0.15, 4);
    expect(burnPlace(two, 1e9).leftS).toBe(0);
    expect(burnPlace(two, -5)).toMatchObject({ pass: 0, row: 0 });
  });

  it('is nowhere in a pass that burns nothing', () => {
    const none = passCourse({ ...spans, end: spans.first }, raster, pass, motion);
    expect(burnPlace([none], 3)).toMatchObject({ row: -1, firing: false, leftS: 0 });
  });
});
