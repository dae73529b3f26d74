import { existsSync } from 'node:fs';
import { expect, test } from 'vitest';
import { campaign, QUICK_COMMANDS } from '../campaign/command-line.mjs';

/** Some fifty runs of the command line; the campaign by itself does thousands. */
const LONG_MS = 900_000;

test(
  'kills in the middle of writes, writers at once and a full disk lose nothing',
  async () => {
    if (!existsSync('dist/cli/main.js')) throw new Error('dist/cli is missing: run "npm run build" first');
    const { kills, faults } = await campaign({
      commands: QUICK_COMMANDS,
      kills: QUICK_COMMANDS.length,
      rounds: 1,
      seed: 5,
      freeKbs: [4],
    });
    expect(faults).toEqual([]);
    expect(kills).toBe(QUICK_COMMANDS.length);
  },
  LONG_MS,
);
