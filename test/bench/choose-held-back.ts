import { writeFileSync } from 'node:fs';
import { createInlineRunner } from '../../src/burn/runner.ts';
import { judgeHeldBack } from '../helpers/held-back.ts';

/**
 * `npm run bench:choose [-- --pieces N] [-- --record NAME]`: finds settings for N (200) seeded pieces and burns them on pieces drawn apart.
 * Takes a quarter of an hour or more; the quick tests judge the first few.
 */
const option = (name: string): string | undefined => {
  const at = process.argv.indexOf(`--${name}`);
  return at > 0 ? process.argv[at + 1] : undefined;
};
const pieces = Number(option('pieces') ?? 200);
const runner = createInlineRunner();
const DRAWS = 3;
const counts = { pieces, settings: 0, obstacles: {} as Record<string, number>, draws: 0, cleared: 0, unscorched: 0 };
const missed: number[] = [];
for (let seed = 0; seed < pieces; seed++) {
  const { result, draws } = await judgeHeldBack(seed, DRAWS, runner);
  if (result.obstacle) counts.obstacles[result.obstacle] = (counts.obstacles[result.obstacle] ?? 0) + 1;
  else counts.settings++;
  for (const { clearedShare, scorchedShare } of draws) {
    counts.draws++;
    if (clearedShare === null || clearedShare >= 0.95) counts.cleared++;
    else missed.push(seed);
    if (scorchedShare < 0.005) counts.unscorched++;
  }
  if (seed % 10 === 9) console.error(`${seed + 1} of ${pieces}: ${JSON.stringify(counts)}`);
}
const share = (part: number) => Math.round((1000 * part) / Math.max(1, counts.draws)) / 1000;
const results = {
  ...counts,
  clearedShareOfDraws: share(counts.cleared),
  unscorchedShareOfDraws: share(counts.unscorched),
  missed,
};
console.log(JSON.stringify(results, null, 2));
const name = option('record');
if (name) {
  const date = new Date().toISOString().slice(0, 10);
  writeFileSync(
    `test/bench/results/${name}.json`,
    `${JSON.stringify({ date, node: process.version, ...results }, null, 2)}\n`,
  );
}
