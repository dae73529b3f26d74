import { describe, expect, test } from 'vitest';
import { parseBlock, programTimeS, readProgram } from '../helpers/gcode-reader.ts';

/**
 * The reader that judges our programs must itself be strict. Rules: Kramer, Proctor, Messina, "The NIST RS274NGC Interpreter –
 * Version 3", NISTIR 6556 (2000): format of a line, modal groups (table 4), order of execution (table 8). Sections from memory.
 */
describe('the reader of programs', () => {
  test.each([
    ['G1 G0 X1', 'two words of the group motion'],
    ['M3 M5', 'two words of the group spindle'],
    ['G20 G21', 'two words of the group units'],
    ['G90 G91', 'two words of the group distance'],
    ['X1 X2', 'X twice'],
    ['G1 X', '"X" is no word'],
    ['G5 X1', 'G5 is not known'],
    ['G0 X1 (open', 'a comment that does not end'],
    ['G0 X1 (a (b) c)', 'one in another'],
    ['G0 X1 ; note', 'is no word'],
    ['G4', 'G4 and P belong together'],
    [`G0 X${'1'.repeat(260)}`, 'longer than 256'],
    ['M3 M7 M0 M48 M49', 'two words of the group overrides'],
  ])('refuses "%s"', (line, why) => {
    expect(() => parseBlock(line, 1)).toThrow(why);
  });

  test('takes spaces, small letters, comments and signs as the standard does', () => {
    // The standard's own example: blanks may stand anywhere in a line.
    const { codes, values } = parseBlock('g0x +0. 12 34y 7(note)', 1);
    expect([...codes]).toEqual(['G0']);
    expect(Object.fromEntries(values)).toEqual({ X: 0.1234, Y: 7 });
  });

  test.each([
    ['G1 X1\nM2\n', 'G1 before any feed'],
    ['X1\nM2\n', 'an axis without a motion'],
    ['G0 X1\n', 'does not end'],
    ['M2\nG0 X1\n', 'after the end'],
    ['G0 X1\nM2', 'the last line does not end'],
    ['G1 F0 X1\nM2\n', 'a feed must be above 0'],
    ['S-1\nM2\n', 'S below 0'],
    ['G92\nM2\n', 'G92 without an axis'],
  ])('refuses the program %j', (text, why) => {
    expect(() => readProgram(text)).toThrow(why);
  });

  test('what was said holds until it is said anew, and S and spindle words go before the motion of their line', () => {
    const { motions, end } = readProgram('G20 G90\nM4 G1 F60 X1 S5\nY1\nG91 G21 X-5.4\nG92 X0 Y0\nG90 X1 S0\nM2\n');
    expect(motions.map(({ s, beam }) => [s, beam])).toEqual([
      [5, 'M4'],
      [5, 'M4'],
      [5, 'M4'],
      [0, 'M4'],
    ]);
    expect(motions.map(({ to }) => to.map((mm) => Math.round(1e6 * mm) / 1e6))).toEqual([
      [25.4, 0],
      [25.4, 25.4],
      [20, 25.4],
      [21, 25.4],
    ]);
    expect(motions[0].feedMmPerS).toBeCloseTo(25.4, 9);
    expect(end[0]).toBeCloseTo(21, 9);
  });

  test('times are trapezoids in closed form: D/v + v/a, or 2√(D/a)', () => {
    const { motions } = readProgram('G1 F6000 X150 S1\nX200 S2\nY0.9\nM2\n');
    // 200 mm in one go at 100 mm/s and 1000 mm/s²: 2.1 s; then a corner, and 0.9 mm that never gets up to speed: 0.06 s.
    expect(programTimeS(motions, 100, 1000)).toBeCloseTo(2.1 + 0.06, 9);
  });
});
