import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { ProgramVerifier } from '../../src/core/export/gcode/verify/program-verifier.ts';
import type { ProgramPromise } from '../../src/core/export/gcode/verify/promise.ts';
import type { Piece } from '../../src/core/piece/schema.ts';
import { createGenerator } from '../../src/core/random/generator.ts';
import { openMachineFile } from '../../src/sim/machine-files.ts';
import type { Photo } from '../../src/sim/prepare.ts';
import { burnProgram } from '../helpers/burn-program.ts';
import { judgeProgram } from '../helpers/gcode-judge.ts';
import { readProgram } from '../helpers/gcode-reader.ts';
import { openMended, ordersOf, randomMachineJob, textOf } from '../helpers/random-machine-job.ts';

const JOBS = 1000;
const DOTS_EVERY = 5;

const bytesOf = (text: string): Uint8Array => Uint8Array.from(text, (sign) => sign.charCodeAt(0) & 0xff);

/** What the verifier has against a program; null if nothing. */
function verifierSays(text: string, promise: ProgramPromise): string | null {
  try {
    const verifier = new ProgramVerifier(promise);
    verifier.push(bytesOf(text));
    verifier.finish();
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

/** Dots of a program that are not those of the pass's picture, a sentence each. */
async function wrongDots(text: string, piece: Piece, photo: Photo): Promise<string[]> {
  const file = { kind: 'picture', index: 0, form: 'dots-8', negative: false } as const;
  const { parts } = await openMachineFile(file, piece, photo);
  const png = decode(new Uint8Array(Buffer.concat([...parts].map(({ bytes }) => bytes))));
  const [pass] = piece.passes;
  const { control, source } = piece.machine;
  const grid = { columns: png.width, rows: png.height, pitchMm: pass.rowPitchMm, headingRad: pass.headingRad };
  const shift = control.correctRowOffset ? -pass.rowOffsetErrorMm : 0;
  const burned = burnProgram(readProgram(text, ordersOf(piece, { kind: 'pass', index: 0 }).start), piece, grid, shift);
  const step = control.powerScale >= 250 ? 1 : 10 ** -Math.ceil(Math.log10(250 / control.powerScale));
  const leastS = Math.ceil((source.firingFloor * control.powerScale) / step - 1e-9) * step;
  const mostS = Math.floor((control.powerLimit * control.powerScale) / step + 1e-9) * step;
  const wrong: string[] = [];
  for (let dot = 0; dot < burned.length; dot++) {
    const share = pass.darkEndPower + ((pass.lightEndPower - pass.darkEndPower) * png.data[2 * dot]) / 255;
    const dark = png.data[2 * dot + 1] === 0 || share < source.firingFloor || share === 0;
    const planned = dark ? 0 : Math.min(mostS, Math.max(leastS, step, share * control.powerScale));
    if (dark ? burned[dot] !== 0 : Math.abs(burned[dot] - planned) > 0.5001 * step)
      wrong.push(`dot ${dot}: S${burned[dot]} instead of ${planned}`);
  }
  return wrong;
}

describe('programs of random jobs, judged by an interpreter that shares no code', () => {
  test(`no light where none belongs, in ${JOBS} jobs, and the dots that were screened`, async () => {
    const faults: string[] = [];
    const kinds = new Map<string, number>();
    for (let seed = 1; seed <= JOBS; seed++) {
      const job = randomMachineJob(seed);
      const mended = await openMended(job);
      if (!mended) continue;
      const { kind } = job.file;
      kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
      const text = textOf(mended.opened);
      const found = judgeProgram(text, ordersOf(mended.piece, job.file));
      const says = verifierSays(text, mended.opened.promise!);
      if (says) found.push(`the verifier says: ${says}`);
      if (kind === 'pass' && seed % DOTS_EVERY === 0) found.push(...(await wrongDots(text, mended.piece, job.photo)));
      if (found.length > 0) faults.push(`job ${seed} (${kind}): ${found[0]} (${found.length} in all)`);
    }
    expect(faults).toEqual([]);
    for (const [kind, least] of [
      ['pass', 300],
      ['walk', 300],
      ['mark', 100],
    ] as const)
      expect([kind, (kinds.get(kind) ?? 0) > least]).toEqual([kind, true]);
  }, 120_000);
});

/** One change that a bad disk, a bad cable or a bad line of ours could make. */
function spoil(text: string, random: () => number): string {
  const lines = text.split('\n').slice(0, -1);
  const at = Math.floor(lines.length * random());
  const line = lines[at];
  const changes: (() => void)[] = [
    () => lines.splice(at, 1),
    () => lines.splice(at, 0, line),
    () =>
      lines.splice(
        at,
        0,
        ['G0X10', 'G1X10S5', 'M3', 'M4', 'S7', 'G91', 'G20', 'M2', 'G1', 'F9000', 'G92X1'][Math.floor(11 * random())],
      ),
    () => lines.splice(at, 1, line.replace(/S[\d.]+/, `S${Math.floor(2000 * random())}`)),
    () => lines.splice(at, 1, line.replace(/S[\d.]+/, '')),
    () => lines.splice(at, 1, line.replace(/^G0/, 'G1')),
    () => lines.splice(at, 1, line.replace(/^G1/, 'G0')),
    () => lines.splice(at, 1, line.replace(/X-?[\d.]+/, `X${Math.floor(500 * random())}`)),
    () => lines.splice(at, 1, line.slice(0, Math.floor(line.length * random()))),
    () => lines.splice(at, 1, `${line}${'!~?%()S5 M'[Math.floor(10 * random())]}`),
    () => lines.splice(at),
    () => {
      const place = Math.floor(line.length * random());
      const bit = line.charCodeAt(place) ^ (1 << Math.floor(8 * random()));
      lines.splice(at, 1, line.slice(0, place) + String.fromCharCode(bit) + line.slice(place + 1));
    },
  ];
  changes[Math.floor(changes.length * random())]();
  return `${lines.join('\n')}\n`;
}

describe('the verifier', () => {
  test('finds whatever the independent judge finds in programs that were spoiled', async () => {
    const missed: string[] = [];
    let bad = 0;
    for (let seed = 5001; seed <= 5160; seed++) {
      const job = randomMachineJob(seed);
      const mended = await openMended(job);
      if (!mended) continue;
      const text = textOf(mended.opened);
      const generator = createGenerator(seed);
      for (let i = 0; i < 12; i++) {
        const spoiled = spoil(text, () => generator.nextUnit());
        const found = judgeProgram(spoiled, ordersOf(mended.piece, job.file));
        if (found.length === 0) continue;
        bad++;
        if (verifierSays(spoiled, mended.opened.promise!) === null)
          missed.push(`job ${seed}, change ${i}: ${found[0]}`);
      }
    }
    expect(missed).toEqual([]);
    expect(bad).toBeGreaterThan(400);
  }, 120_000);
});
