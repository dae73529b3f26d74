import { beforeAll, describe, expect, test } from 'vitest';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { judgeHeldBack } from '../helpers/held-back.ts';

/**
 * A few of the held-back pieces; `npm run bench:choose` judges two hundred, its results are in test/bench/results. Outside check of the
 * search, not of the law: the model's own draws are the truth, drawn apart from those that the search has seen.
 */
describe('settings for pieces that nothing was fitted to', { timeout: 120_000 }, () => {
  let runner: SwathRunner;
  beforeAll(async () => {
    runner = await cpuRunner();
  });

  test.each([0, 1, 2, 3])(
    'piece %i: clears and stays unscorched in most draws, or says what stands in the way',
    async (seed) => {
      const { result, draws } = await judgeHeldBack(seed, 3, runner);
      if (result.obstacle) {
        expect(result.suggestions).toEqual([]);
        expect(result.nearest).not.toBeNull();
        return;
      }
      expect(draws).toHaveLength(3);
      const good = draws.filter((one) => (one.clearedShare ?? 1) >= 0.95 && one.scorchedShare < 0.005);
      expect(good.length).toBeGreaterThanOrEqual(2);
    },
  );
});
