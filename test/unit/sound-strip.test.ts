import { describe, expect, test } from 'vitest';
import type { BurnPass } from '../../src/burn/kernel/contract.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner, type SwathRunner } from '../../src/burn/runner.ts';
import { countUnsound } from '../../src/burn/swath.ts';
import type { SwathJob } from '../../src/burn/swath-task.ts';
import { burnToneScale } from '../../src/burn/tone-scale.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { burnByReference } from '../helpers/reference-burn.ts';

const piece = flatFilm(plainPiece(20, { screen: 'floyd-steinberg' }));
const grey = pictureOf(20, 70, () => 0.6);

/** A burn that leaves one value of its results no number. */
const poisoned =
  (of: 'depthUm' | 'excess', value: number): BurnPass =>
  (input) => {
    const output = burnByReference(input);
    output[of][7] = value;
    return output;
  };

/** A runner whose job has been spoiled on its way. */
function spoiled(change: (job: SwathJob) => SwathJob): SwathRunner {
  const inner = createInlineRunner(burnByReference);
  return { ...inner, start: (job) => inner.start(change(job)) };
}

describe('nothing that is no number leaves the engine', () => {
  test.each([
    ['depthUm', Number.NaN],
    ['depthUm', Number.POSITIVE_INFINITY],
    ['excess', Number.NaN],
  ] as const)('%s of %d in one fine cell', async (of, value) => {
    await expect(burn(piece, grey, createInlineRunner(poisoned(of, value)))).rejects.toThrow(
      /^the burn went wrong: 1 values of the rows from \d+ to \d+ are no numbers, so nothing of it is shown$/,
    );
  });

  test.each<[string, (job: SwathJob) => SwathJob]>([
    ['warmth', (job) => ({ ...job, passes: job.passes.map((pass) => ({ ...pass, warmth: Number.NaN })) })],
    [
      'power',
      (job) => ({
        ...job,
        passes: job.passes.map((p) => ({ ...p, wattsAt: p.wattsAt.map((w) => w || 1).fill(Number.NaN, 255) })),
      }),
    ],
    [
      'feed',
      (job) => ({ ...job, passes: job.passes.map((p) => ({ ...p, optics: { ...p.optics, feedMmPerS: Number.NaN } })) }),
    ],
    [
      'film',
      (job) => ({
        ...job,
        filmKey: '',
        filmSteps: { along: 'y', cells: 64, shares: [Number.NaN] },
      }),
    ],
  ])('a %s that is none would pass for unburned and is refused', async (_, change) => {
    await expect(burn(piece, grey, spoiled(change))).rejects.toThrow(/are no numbers/);
  });

  test('nor from a tone scale', async () => {
    const table = createProofPipeline().appearance(piece);
    await expect(burnToneScale(piece, table, createInlineRunner(poisoned('depthUm', Number.NaN)))).rejects.toThrow(
      RangeError,
    );
  });

  test('what is sound goes through', async () => {
    expect((await burn(piece, grey)).proof.summary.rows).toBeGreaterThan(0);
    expect(countUnsound([0, -1, 1e30])).toBe(0);
    expect(countUnsound([0, Number.NaN, Number.NEGATIVE_INFINITY])).toBe(2);
  });
});
