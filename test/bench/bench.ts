import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { encodeSrgb } from '../../src/base/color/srgb.ts';
import type { BurnPass } from '../../src/burn/kernel/contract.ts';
import { burnOnProcessor } from '../../src/burn/kernel/processor.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import { assertSameBurn, burnByHand } from './hand-written.ts';
import { referencePicture, referencePiece } from './reference-job.ts';

/**
 * `npm run bench [-- --smoke] [-- --record NAME]`: how the burn stage compares with the hand-written loop on the very same
 * inputs, and what the whole `proof` command and the program of a pass (`job`) take in time and memory. Ratios are what counts; nothing is asserted.
 */
const smoke = process.argv.includes('--smoke');
const recordAt = process.argv.indexOf('--record');
const share = smoke ? 0.01 : 1;

interface StageTimes {
  readonly burnMs: number;
  readonly handMs: number;
  readonly cells: number;
}

/** Burns the reference job in one thread, timing the loop that burns and the hand-written loop strip by strip. */
async function compareBurn(scale: number): Promise<StageTimes> {
  let burnMs = 0;
  let handMs = 0;
  let turn = 0;
  const timed: BurnPass = (input) => {
    // Whoever goes first warms the caches for the other: take turns.
    turn++;
    const byHand = () => {
      const start = performance.now();
      const burned = burnByHand(input);
      handMs += performance.now() - start;
      return burned;
    };
    const before = turn % 2 ? byHand() : null;
    const start = performance.now();
    const output = burnOnProcessor(input);
    burnMs += performance.now() - start;
    assertSameBurn(before ?? byHand(), output);
    return output;
  };
  const piece = referencePiece(scale);
  const proof = await createProofPipeline().proof(
    {
      piece,
      photo: { key: 'r', picture: referencePicture(), castless: null },
      collect: { surface: true, fields: false, painted: false },
    },
    createInlineRunner(timed),
  );
  return { burnMs, handMs, cells: proof.grid.width * proof.grid.height };
}

interface CommandCost {
  readonly seconds: number;
  readonly peakMiB: number;
  /** Of `proof` only. */
  readonly stagesMs: Record<string, number>;
}

/** Of the program itself: on Linux `maxRSS` begins with what the process that started it holds. */
const PEAK_AT_EXIT = `
import { existsSync, readFileSync } from 'node:fs';
process.on('exit', () => {
  const own = existsSync('/proc/self/status') && /VmHWM:\\s*(\\d+)/.exec(readFileSync('/proc/self/status', 'utf8'));
  process.stderr.write('peak ' + (own ? own[1] : process.resourceUsage().maxRSS) + '\\n');
});`;

/** Runs a command of the built command line on a JPEG and measures it from outside. */
async function wholeCommand(scale: number, command: readonly string[] = ['proof']): Promise<CommandCost> {
  const folder = mkdtempSync(join(tmpdir(), 'foreburn-bench-'));
  try {
    const picture = referencePicture();
    const grey = Uint8Array.from(picture.luminance, (value) => Math.round(255 * encodeSrgb(value)));
    const photo = join(folder, 'photo.jpg');
    await sharp(grey, { raw: { width: picture.width, height: picture.height, channels: 1 } })
      .jpeg()
      .toFile(photo);
    const pieceFile = join(folder, 'piece.json');
    writeFileSync(pieceFile, JSON.stringify(referencePiece(scale)));
    const main = fileURLToPath(new URL('./main.js', import.meta.url));
    const out = join(folder, 'out');
    const watch = join(folder, 'watch.mjs');
    writeFileSync(watch, PEAK_AT_EXIT);
    const start = performance.now();
    const run = spawnSync(
      process.execPath,
      ['--import', watch, main, ...command, photo, '--piece', pieceFile, '--out', out],
      {
        encoding: 'utf8',
      },
    );
    const seconds = (performance.now() - start) / 1000;
    if (run.status !== 0) throw new Error(run.stderr);
    const peakMiB = Number(/peak (\d+)/.exec(run.stderr)?.[1] ?? Number.NaN) / 1024;
    const report =
      command[0] === 'proof' ? JSON.parse(readFileSync(join(out, 'report.json'), 'utf8')) : { stagesMs: {} };
    return { seconds, peakMiB, stagesMs: report.stagesMs };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

const round = (value: number, digits = 2): number => Math.round(value * 10 ** digits) / 10 ** digits;

await compareBurn(Math.min(share, 0.05));
const burn = await compareBurn(share);
const whole = await wholeCommand(share);
const double = await wholeCommand(2 * share);
const program = await wholeCommand(share, ['job', '--only', 'job']);
const results = {
  job: smoke ? 'smoke (1 % of R)' : 'R: 200 × 250 mm at 0.08 mm, 3 sub-rows, 2 coats',
  cells: burn.cells,
  burnStageMs: round(burn.burnMs, 0),
  handWrittenMs: round(burn.handMs, 0),
  burnOverHandWritten: round(burn.burnMs / burn.handMs),
  proofSeconds: round(whole.seconds),
  proofPeakMiB: round(whole.peakMiB, 0),
  proofStagesMs: whole.stagesMs,
  programSeconds: round(program.seconds),
  programPeakMiB: round(program.peakMiB, 0),
  doubleSeconds: round(double.seconds),
  doubleOverSingle: round(double.seconds / whole.seconds),
};
console.log(JSON.stringify(results, null, 2));
if (recordAt > 0) {
  const name = process.argv[recordAt + 1];
  const machine = {
    node: process.version,
    cores: availableParallelism(),
    platform: process.platform,
    arch: process.arch,
  };
  const file = join('test', 'bench', 'results', `${name}.json`);
  let history: unknown[] = [];
  try {
    history = JSON.parse(readFileSync(file, 'utf8'));
  } catch {
    // The first record of this machine.
  }
  writeFileSync(
    file,
    `${JSON.stringify([...history, { date: new Date().toISOString().slice(0, 10), machine, ...results }], null, 2)}\n`,
  );
}
