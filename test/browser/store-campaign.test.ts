import { spawnSync } from 'node:child_process';
import { expect, test } from 'vitest';

test('reloads, kills, tab fights and a full disk at random moments lose and damage nothing', () => {
  const campaign = ['test/campaign/page-store.mjs', '--rounds', '6', '--seed', '12'];
  const { status, stdout, stderr } = spawnSync(process.execPath, campaign, { encoding: 'utf8', timeout: 280_000 });
  expect(stderr).toBe('');
  expect(stdout).toMatch(/^6 rounds .* 0 with something lost or damaged\./);
  expect(status).toBe(0);
});
