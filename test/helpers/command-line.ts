import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { run } from '../../src/cli/run.ts';

export interface Ran {
  readonly code: number;
  readonly out: string;
  readonly error: string;
}

/** Runs a command line in this process. */
export async function runCli(argv: readonly string[], terminal = false): Promise<Ran> {
  let out = '';
  let error = '';
  let ms = 0;
  const code = await run(argv, {
    out: (text) => {
      out += text;
    },
    error: (text) => {
      error += text;
    },
    terminal,
    now: () => {
      ms += 10;
      return ms;
    },
    today: () => Date.UTC(2031, 4, 2, 12),
  });
  return { code, out, error };
}

/** A new folder for files of a test; call `remove` when done. */
export async function temporaryFolder(): Promise<{
  path: string;
  file: (name: string) => string;
  remove: () => Promise<void>;
}> {
  const path = await mkdtemp(join(tmpdir(), 'foreburn-test-'));
  return { path, file: (name) => join(path, name), remove: () => rm(path, { recursive: true, force: true }) };
}
