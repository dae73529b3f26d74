import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism, loadavg } from 'node:os';
import { join } from 'node:path';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import { createCliRunner } from '../../src/cli/runner.ts';
import { burnFrame } from '../../src/piece/frame.ts';
import { check, choose } from '../../src/studies/choose/choose.ts';
import { EVEN_WISHES } from '../../src/studies/choose/odds.ts';
import { diagnose } from '../../src/studies/diagnose/diagnose.ts';
import { createProofTally, type ProofTally } from '../../src/studies/diagnose/tally.ts';
import { type GridSettingId, usualValues, withSetting } from '../../src/studies/grid/grid-setting.ts';
import { JUDGE_DRAWS, judged } from '../../src/studies/sure/judge.ts';
import { referencePicture, referencePiece } from './reference-job.ts';

/**
 * `npm run bench:questions [-- --smoke] [-- --record NAME]`: how long a maker waits for suggestions (the first, all of them, all proved on
 * the picture), for the diagnosis of a finished proof and for grids of crops, on the reference job. Run in a fresh process: the first answer counts. Nothing is asserted.
 */
const smoke = process.argv.includes('--smoke');
const piece = referencePiece(smoke ? 0.01 : 1);
const photo = { key: 'r', picture: referencePicture(), castless: null };
const small = createInlineRunner();
const large = createCliRunner();
const round = (ms: number): number => Math.round(ms);

/** Wall-clock and processor time of all threads: the second says more where others use the machine too. */
interface Took {
  readonly ms: number;
  readonly cpuMs: number;
}
const stopwatch = () => {
  const start = performance.now();
  const before = process.cpuUsage();
  return (): Took => {
    const { user, system } = process.cpuUsage(before);
    return { ms: round(performance.now() - start), cpuMs: round((user + system) / 1000) };
  };
};

/** Times of one whole search, from the question to suggestions that are proved on the picture. */
async function timeChoose() {
  const took = stopwatch();
  const scene = createCoarsePipeline().scene(piece, photo);
  const appearance = createProofPipeline().appearance(piece);
  // The page has both already: its quick look needs them.
  const ready = took();
  const asked = stopwatch();
  let first: Took | null = null;
  const onPartial = ({ suggestions }: { suggestions: readonly unknown[] }) => {
    if (suggestions.length > 0) first ??= asked();
  };
  let searched: Took | null = null;
  const onProgress = (_: number, stage: string) => {
    if (stage === 'search') searched = asked();
  };
  const result = await choose({ piece, scene, appearance, wishes: EVEN_WISHES }, small, { onPartial, onProgress });
  const found = asked();
  const { suggestions } = await check({ piece, photo, scene }, result, large);
  const proved = asked();
  const counts = { candidates: result.evaluated, suggestions: suggestions.length };
  return { ready, first, searched, found, proved, ...counts };
}

/** The diagnosis alone, twice: as it comes first, and once the engine has compiled everything. */
async function timeDiagnosis() {
  const pipeline = createProofPipeline();
  let tally: ProofTally | null = null;
  const proof = await pipeline.proof(
    { piece, photo, collect: { surface: true, fields: true, painted: false } },
    large,
    {
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onSwath: (strip) => tally?.add(strip),
    },
  );
  const scene = createCoarsePipeline().scene(piece, photo);
  const times: Took[] = [];
  for (let i = 0; i < 2; i++) {
    const took = stopwatch();
    await diagnose(piece, proof, await judged(piece, proof, small, JUDGE_DRAWS), tally!.sums(), scene, small);
    times.push(took());
  }
  return { first: times[0], again: times[1] };
}

/** A grid of 5 × 5 crops of 300 × 300 dots, powers against another setting, cell by cell as the page burns them. */
async function timeGrid(setting: GridSettingId): Promise<Took> {
  const pipeline = createProofPipeline();
  const pitchMm = piece.passes[0].rowPitchMm;
  const { widthMm, heightMm } = burnFrame(piece, photo.picture);
  const sideMm = 300 * pitchMm;
  const crop = { xMm: (widthMm - sideMm) / 2, yMm: (heightMm - sideMm) / 2, widthMm: sideMm, heightMm: sideMm };
  const collect = { surface: true, fields: false, painted: false };
  const powers = usualValues(piece, 'light-end', 0);
  const cells = usualValues(piece, setting, 0).flatMap((value) =>
    powers.map((power) => withSetting(withSetting(piece, setting, 0, value), 'light-end', 0, power)),
  );
  // The page has its proof before a grid can be asked for.
  await pipeline.crop({ piece, photo, crop, collect }, large);
  const took = stopwatch();
  let next = 0;
  const lane = async () => {
    while (next < cells.length) await pipeline.crop({ piece: cells[next++], photo, crop, collect }, large);
  };
  await Promise.all([lane(), lane()]);
  return took();
}

async function timeGrids() {
  const times: Partial<Record<GridSettingId, Took>> = {};
  for (const setting of ['feed', 'dark-end', 'film', 'screen', 'row-pitch'] as const) {
    times[setting] = await timeGrid(setting);
  }
  return times;
}

const only = process.argv.includes('--only') ? process.argv[process.argv.indexOf('--only') + 1] : null;
// First, so that the patches' law is as cold as in a page that has just been opened.
const diagnosis = only && only !== 'diagnosis' ? null : await timeDiagnosis();
const chosen = only && only !== 'choose' ? null : await timeChoose();
const grid = only && only !== 'grid' ? null : await timeGrids();
small.dispose();
large.dispose();
const machine = { node: process.version, cores: availableParallelism(), load: loadavg()[0] };
const results = { job: smoke ? 'smoke (1 % of R)' : 'R: 200 × 250 mm at 0.08 mm', diagnosis, choose: chosen, grid };
console.log(JSON.stringify({ machine, ...results }, null, 2));
const recordAt = process.argv.indexOf('--record');
if (recordAt > 0) {
  const file = join('test', 'bench', 'results', `${process.argv[recordAt + 1]}.json`);
  const history: unknown[] = existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : [];
  const date = new Date().toISOString().slice(0, 10);
  writeFileSync(file, `${JSON.stringify([...history, { date, machine, ...results }], null, 2)}\n`);
}
