import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { checkMachineJob, verifierSays } from '../helpers/check-machine-job.ts';
import { judgeProgram } from '../helpers/gcode-judge.ts';
import { openMended, ordersOf, randomMachineJob, textOf } from '../helpers/random-machine-job.ts';

const JOBS = 1000;
const DOTS_EVERY = 8;

describe('programs of random jobs, judged by an interpreter that shares no code', () => {
  test(`no light where none belongs, in ${JOBS} jobs, and the dots that were screened`, async () => {
    const faults: string[] = [];
    const kinds = new Map<string, number>();
    for (let seed = 1; seed <= JOBS; seed++) {
      const checked = await checkMachineJob(seed, seed % DOTS_EVERY === 0);
      if (!checked) continue;
      const { kind } = checked;
      kinds.set(kind, (kinds.get(kind) ?? 0) + 1);
      if (checked.faults.length > 0)
        faults.push(`job ${seed} (${kind}): ${checked.faults[0]} (${checked.faults.length} in all)`);
    }
    expect(faults).toEqual([]);
    for (const [kind, least] of [
      ['pass', 300],
      ['walk', 300],
      ['mark', 100],
    ] as const)
      expect([kind, (kinds.get(kind) ?? 0) > least]).toEqual([kind, true]);
  }, 300_000);
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
    for (let seed = 5001; seed <= 5100; seed++) {
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
    expect(bad).toBeGreaterThan(300);
  }, 300_000);
});
