import { appendFileSync } from 'node:fs';
import { createInlineRunner } from '../../../src/burn/runner.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import { BLIND_WORLDS, FRESH_WORLDS } from '../../reference/finer-model/blind-worlds.ts';
import { type BurnedPicture, createWorkshop } from '../../reference/finer-model/workshop.ts';
import { CARD_SETS, type CardSet, calibrate, FEED, judge, PITCH, startingPiece, withFilm } from './blind-trial.ts';
import { burnInWorld, type PictureError, pictureError, piecePasses } from './picture-error.ts';
import { type TestPicture, testPictures } from './pictures.ts';
import { type Suggested, suggestionsHold } from './suggestions.ts';

/**
 * `npm run accuracy`: burns cards and pictures in worlds that share nothing with the engine, reads the cards off photographs, fits, and says how far
 * off proofs, powers and intervals are. `-- --worlds clear,hot`, `--sets 'one, proposed;…'`, `--seeds 1` (`--from 1`), `--fresh` for worlds that were drawn, `--no-pictures`, `--suggestions` to burn what is suggested, `--out FILE` for a line of JSON per trial.
 */
const option = (name: string): string | null => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? null : (process.argv[at + 1] ?? '');
};
const WIDTH = 210;
const HEIGHT = 150;
/** Of 60 the ends of nine tenths, counted off in whole draws, hold only 87 % of all further ones. */
const DRAWS = 200;
const LIGHT_SHARES = [0.94, 1.04];

interface Trial {
  readonly world: string;
  readonly set: string;
  readonly seed: number;
  readonly errors: Record<string, { known: PictureError; unknown: PictureError }>;
  readonly judged: ReturnType<typeof judge>[];
  readonly spot: { truth: number; value: number; low: number; high: number } | null;
  readonly misfit: number;
  /** For coverage to be asked again without burning again. */
  readonly piece: Piece;
  readonly suggested: Suggested | null;
}

interface Burned {
  readonly test: TestPicture;
  readonly passes: number;
  readonly truth: BurnedPicture;
}

const runner = createInlineRunner();
const worlds = process.argv.includes('--fresh') ? FRESH_WORLDS : BLIND_WORLDS;
const names = option('worlds')?.split(',') ?? worlds.map(({ name }) => name);
const sets = (option('sets')?.split(';') ?? Object.keys(CARD_SETS)) as CardSet[];
const seeds = Number(option('seeds') ?? 1);
const from = Number(option('from') ?? 1);
const pictures = process.argv.includes('--no-pictures') ? [] : await testPictures(WIDTH, HEIGHT);
const suggesting = process.argv.includes('--suggestions');
/** Small pictures that have light areas. */
const suggestible = suggesting ? (await testPictures(WIDTH, HEIGHT)).slice(0, 2) : [];
const trials: Trial[] = [];

for (let seed = from; seed < from + seeds; seed++) {
  for (const world of worlds.filter(({ name }) => names.includes(name))) {
    const workshop = createWorkshop(world, 100 * seed + world.name.length, FEED, PITCH);
    const start = startingPiece(workshop, seed);
    const burned: Burned[] = [];
    for (const test of pictures) {
      for (const passes of [1, 2]) {
        const piece = withPasses(start, world.clearsAt, test, passes);
        burned.push({ test, passes, truth: await burnInWorld(workshop, piece, test, runner) });
      }
    }
    const warmest = Math.max(0, ...burned.map(({ truth }) => truth.warmestK));
    if (burned.length > 0) console.log(`world ${world.name}, film ${seed}: rows find at most ${warmest.toFixed(0)} K`);
    const errorsOf = async (of: Piece) => {
      const errors: Trial['errors'] = {};
      for (const { test, passes, truth } of burned) {
        const [known, unknown] = await Promise.all(
          [true, false].map((map) =>
            pictureError(
              withFilm(withPasses(of, world.clearsAt, test, passes), workshop, WIDTH * PITCH, HEIGHT * PITCH, map),
              test,
              truth,
              runner,
            ),
          ),
        );
        errors[`${test.name} ${passes}`] = { known, unknown };
      }
      return errors;
    };
    const judgeAll = (of: Piece) => LIGHT_SHARES.map((share) => judge(workshop, of, share, DRAWS));
    add({
      world: world.name,
      set: 'preset',
      seed,
      errors: await errorsOf(start),
      judged: judgeAll(start),
      spot: null,
      misfit: 0,
      piece: start,
      suggested: null,
    });
    for (const set of sets) {
      try {
        const fit = await calibrate(workshop, start, set, 1000 * seed);
        const spot = fit.numbers.find(({ name }) => name === 'spotAcross');
        add({
          world: world.name,
          set,
          seed,
          errors: await errorsOf(fit.piece),
          judged: judgeAll(fit.piece),
          spot: spot ? { truth: world.radiusMm, value: spot.value, low: spot.low, high: spot.high } : null,
          misfit: fit.misfit,
          piece: fit.piece,
          suggested: suggesting ? await suggestionsHold(workshop, fit.piece, suggestible, WIDTH * PITCH, runner) : null,
        });
        if (process.argv.includes('--numbers'))
          for (const { words, value, before, low, high } of fit.numbers)
            console.log(
              `    ${words}: ${before.toPrecision(3)} → ${value.toPrecision(3)} (${low.toPrecision(3)} … ${high.toPrecision(3)})`,
            );
      } catch (error) {
        console.log(`${world.name}, ${set}: ${(error as Error).message}`);
      }
    }
  }
}
report();

/** First pass a little weak, as makers set it, so that a second has something to do. */
function withPasses(piece: Piece, clears: number, test: TestPicture, passes: number): Piece {
  const ends = [
    [0.92 * clears, 0.12 * clears],
    [0.8 * clears, 0.12 * clears],
  ] as const;
  return piecePasses(piece, test, ends.slice(0, passes), WIDTH * PITCH);
}

function add(trial: Trial): void {
  trials.push(trial);
  const out = option('out');
  if (out) appendFileSync(out, `${JSON.stringify(trial)}\n`);
  const show = (value: number | null) => value?.toFixed(1) ?? '–';
  const line = Object.entries(trial.errors).map(
    ([name, { known, unknown }]) =>
      `${name} ${show(known.all)} (${show(known.light)}) | ${show(unknown.all)} (${show(unknown.light)})`,
  );
  const [{ truth, said, low, high }] = trial.judged;
  const power = (key: 'clearing' | 'second') =>
    `${(100 * (said[key] / truth[key] - 1)).toFixed(1)} % (${(100 * (low[key] / truth[key] - 1)).toFixed(0)}…${(100 * (high[key] / truth[key] - 1)).toFixed(0)})`;
  const spot = trial.spot
    ? `; spot ${(100 * (trial.spot.value / trial.spot.truth - 1)).toFixed(0)} % (${(100 * (trial.spot.low / trial.spot.truth - 1)).toFixed(0)}…${(100 * (trial.spot.high / trial.spot.truth - 1)).toFixed(0)})`
    : '';
  console.log(
    `${trial.world}, ${trial.set}: ${line.join('; ')}; clearing ${power('clearing')}, second ${power('second')}${spot}; scatter ${trial.misfit.toFixed(2)}`,
  );
}

/** Medians and ranges of what the trials of all worlds came to. */
function report(): void {
  const range = (values: number[]) => {
    if (values.length === 0) return '–';
    const sorted = [...values].sort((a, b) => a - b);
    const at = (share: number) => sorted[Math.round(share * (sorted.length - 1))];
    return `${at(0.5).toFixed(1)} (${at(0).toFixed(1)}–${at(1).toFixed(1)})`;
  };
  for (const set of ['preset', ...sets]) {
    const own = trials.filter((trial) => trial.set === set);
    if (own.length === 0) continue;
    const errors = (pass: number, kind: 'known' | 'unknown', area: 'all' | 'light') =>
      range(
        own.flatMap(({ errors }) =>
          Object.entries(errors)
            .filter(([name]) => name.endsWith(` ${pass}`))
            .flatMap(([, error]) => error[kind][area] ?? []),
        ),
      );
    console.log(`\n${set}: ${own.length} trials`);
    for (const kind of ['known', 'unknown'] as const)
      for (const pass of [1, 2])
        console.log(
          `  film ${kind}, pass ${pass}: L* rms ${errors(pass, kind, 'all')}, light ${errors(pass, kind, 'light')}`,
        );
    for (const key of ['clearing', 'second'] as const)
      console.log(
        `  ${key} power off by ${range(own.map(({ judged: [{ truth, said }] }) => 100 * Math.abs(said[key] / truth[key] - 1)))} %`,
      );
  }
  const fitted = trials.filter(({ set }) => set !== 'preset');
  for (const key of ['clearing', 'second', 'residue', 'leftDark'] as const) {
    const asked = fitted.flatMap(({ judged }) =>
      key === 'clearing' || key === 'second' ? judged.slice(0, 1) : judged,
    );
    const inside = asked.filter(
      ({ truth, low, high }) => truth[key] >= low[key] - 1e-3 && truth[key] <= high[key] + 1e-3,
    );
    console.log(`nine tenths of ${key}: ${inside.length} of ${asked.length} hold the truth`);
  }
  if (suggesting) {
    const kept = fitted.flatMap(({ suggested }) => suggested?.kept ?? []);
    const nothing = fitted.flatMap(({ suggested }) => Object.values(suggested?.obstacles ?? {}));
    const count = (holds: (one: (typeof kept)[number]) => boolean) => kept.filter(holds).length;
    console.log(
      `suggestions promised in 95 of 100: ${kept.length}; clear ${count(({ clear }) => clear)}, unscorched ${count(({ unscorched }) => unscorched)}, both ${count((one) => one.clear && one.unscorched)}; nothing suggested ${nothing.length} times`,
    );
  }
  const spots = fitted.flatMap(({ spot }) => spot ?? []);
  console.log(
    `nine tenths of the spot: ${spots.filter(({ truth, low, high }) => truth >= low && truth <= high).length} of ${spots.length}`,
  );
}
