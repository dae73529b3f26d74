import { describe, expect, test } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { JobRefused } from '../../src/outputs/program/refusals.ts';
import { type BrokeOff, takeUp, takeUpSentences } from '../../src/outputs/program/take-up.ts';
import { ProgramVerifier } from '../../src/outputs/program/verify/program-verifier.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { rampPhoto } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { judgeProgram } from '../helpers/gcode-judge.ts';
import { ordersOf, textOf } from '../helpers/random-machine-job.ts';

const photo = rampPhoto();
const base = createPiece('Hollin Reach', 'photo.png');
const piece: Piece = {
  ...base,
  picture: { ...base.picture, widthMm: 30, crop: 'rectangle' },
  passes: [{ ...base.passes[0], rows: 'two-way', rowPitchMm: 0.2 }],
};
const ROWS = 100;

async function programFrom(fromRow?: number, of: Piece = piece): Promise<string> {
  const file = { kind: 'pass', index: 0, ...(fromRow && { fromRow }) } as const;
  const opened = await openMachineFile(file, of, photo);
  const text = textOf(opened);
  const verifier = new ProgramVerifier(opened.promise!);
  verifier.push(Uint8Array.from(text, (sign) => sign.charCodeAt(0)));
  verifier.finish();
  expect(judgeProgram(text, ordersOf(of, file))).toEqual([]);
  return text;
}

const takeUpAt = async (at: BrokeOff, of = piece) => {
  const runner = await cpuRunner();
  const { appearance } = createProofPipeline();
  return takeUp(of, photo, 0, at, 1800, { coarse: createCoarsePipeline(), appearance, runner });
};

describe('a burn that broke off', () => {
  test.each([2, 37, 38, 100])('from row %d on every byte is the whole program’s, after the run-up', async (fromRow) => {
    const whole = (await programFrom()).split('\nG0');
    const rest = (await programFrom(fromRow)).split('\nG0');
    // The way to the start, then a block for each row, then the way to where the head parks.
    expect(whole).toHaveLength(ROWS + 2);
    expect(rest).toHaveLength(ROWS - fromRow + 3);
    expect(rest.slice(2)).toEqual(whole.slice(fromRow + 1));
    // The first row has its own way there and says feed and power anew; its dots are the same.
    const dots = (block: string) => block.split('\n').filter((line) => /^X[^Y]*S/.test(line));
    expect(dots(rest[1])).toEqual(dots(whole[fromRow]));
    expect(dots(rest[1]).length).toBeGreaterThan(20);
    expect(rest[0]).toContain(`(Taken up from row ${fromRow} of 100: rows before it must be burned already.)`);
  });

  test('cautions come with it, of their own where the head counts from the picture', async () => {
    const opened = await openMachineFile({ kind: 'pass', index: 0, fromRow: 37 }, piece, photo);
    expect(opened.cautions[0]).toContain('look that row 36 is whole');
    expect(opened.cautions[1]).toContain('After a power cut the machine has to find its place again');
    const { machine } = piece;
    const centred = {
      ...piece,
      machine: { ...machine, control: { ...machine.control, zero: 'picture-centre' as const } },
    };
    const other = await openMachineFile({ kind: 'pass', index: 0, fromRow: 37 }, centred, photo);
    expect(other.cautions[1]).toContain('must stand over the picture’s middle');
    await programFrom(37, centred);
  });

  test('the row is found by its number, by minutes and by place alike', async () => {
    const byRow = await takeUpAt({ kind: 'row', row: 37 });
    expect(byRow).toMatchObject({ row: 37, rows: 100 });
    expect(byRow.fromEdgeMm).toBeCloseTo(7.2, 9);
    // By hand: the picture is 30 × 20 mm round 200, 200; row 37 lies 36.5 rows below its far edge and runs forwards.
    expect(byRow.from[1]).toBeCloseTo(210 - 36.5 * 0.2, 9);
    expect(byRow.to[0]).toBeGreaterThan(byRow.from[0]);
    const minute = (byRow.burnedS + 0.05) / 60;
    const byMinute = await takeUpAt({ kind: 'minute', minute });
    const byPlace = await takeUpAt({ kind: 'place', xMm: 190, yMm: byRow.from[1] + 0.05 });
    expect(byMinute).toEqual(byRow);
    expect(byPlace).toEqual(byRow);
    const turned = { ...piece, placement: { ...piece.placement, turnRad: 0.7 } };
    const there = await takeUpAt({ kind: 'row', row: 61 }, turned);
    const place = { kind: 'place', xMm: there.to[0], yMm: there.to[1] } as const;
    expect((await takeUpAt(place, turned)).row).toBe(61);
  });

  test('the pause makes the rows after it colder, and is told', async () => {
    const { effect, ...found } = await takeUpAt({ kind: 'row', row: 60 });
    expect(effect.colderK).toBeGreaterThan(0.1);
    expect(effect.justAfter).toBeGreaterThanOrEqual(effect.withoutThere);
    const [row, pause] = takeUpSentences({ ...found, effect });
    expect(row).toMatch(
      /^Row 60 of 100, 11\.8 mm from the edge where the burn began: it runs from X \d+\.\d Y \d+\.\d to/,
    );
    expect(pause).toMatch(/^A pause of 30 min before row 60: the first rows after it start \d+\.\d °C colder/);
  });

  test('a row that is none is refused', async () => {
    for (const row of [0, 101, 1.5])
      await expect(openMachineFile({ kind: 'pass', index: 0, fromRow: row }, piece, photo)).rejects.toThrow(
        `The pass has nothing to burn from row ${row} on: rows count from 1, and the last that burns is row 100.`,
      );
    await expect(takeUpAt({ kind: 'place', xMm: 0, yMm: 0 })).rejects.toThrow(JobRefused);
  });
});
