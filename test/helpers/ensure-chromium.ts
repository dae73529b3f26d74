import { spawnSync } from 'node:child_process';
import { findChromium } from './chromium.ts';

/**
 * Run once before the browser tests: makes sure that there is a Chromium. What `findChromium` finds is taken; else the
 * distribution's package is installed where we may, else the test tool's own download is tried.
 * @throws Error that says how to get one.
 */
export default function ensureChromium(): void {
  const ways: (() => void)[] = [
    () => {},
    () => {
      if (process.getuid?.() !== 0) return;
      run('apt-get', ['update', '-qq']);
      run('apt-get', ['install', '-y', '-qq', '--no-install-recommends', 'chromium']);
    },
    () => run(process.execPath, ['node_modules/playwright-core/cli.js', 'install', '--with-deps', 'chromium']),
  ];
  let fault: unknown;
  for (const way of ways) {
    way();
    try {
      findChromium();
      return;
    } catch (error) {
      fault = error;
    }
  }
  throw fault;
}

function run(command: string, args: string[]): void {
  spawnSync(command, args, { stdio: ['ignore', 'ignore', 'inherit'], timeout: 600_000 });
}
