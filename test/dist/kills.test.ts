import { existsSync } from 'node:fs';
import { expect, test } from 'vitest';
import { campaign } from '../campaign/command-line.mjs';

/** Some eighty runs of the command line. */
const LONG_MS = 900_000;

test(
  'kills in the middle of writes, writers at once and a full disk lose nothing',
  async () => {
    if (!existsSync('dist/cli/main.js')) throw new Error('dist/cli is missing: run "npm run build" first');
    const { kills, faults } = await campaign({ kills: 22, rounds: 1, seed: 5, freeKbs: [4] });
    expect(faults).toEqual([]);
    expect(kills).toBe(22);
  },
  LONG_MS,
);
