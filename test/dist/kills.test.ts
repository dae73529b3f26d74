import { existsSync } from 'node:fs';
import { expect, test } from 'vitest';
import { campaign } from '../campaign/command-line.mjs';

test('kills in the middle of writes, writers at once and a full disk lose nothing', async () => {
  if (!existsSync('dist/cli/main.js')) throw new Error('dist/cli is missing: run "npm run build" first');
  const { kills, faults } = await campaign({ kills: 22, rounds: 1, seed: 5 });
  expect(faults).toEqual([]);
  expect(kills).toBe(22);
});
