import { describe, expect, test } from 'vitest';
import { createRemote, RemoteLost } from '../../src/base/remote/remote.ts';
import { createPoolRunner } from '../../src/burn/runner.ts';
import type { SwathJob, SwathTask } from '../../src/burn/swath-task.ts';
import { openThread } from '../../src/cli/runner.ts';

const program = (text: string) => new URL(`data:text/javascript,${encodeURIComponent(text)}`);
const LISTEN = "import { parentPort } from 'node:worker_threads'; parentPort.on('message', ";

interface Echo {
  readonly echo: { readonly asks: string; readonly gets: string };
}

describe('a thread of the command line', () => {
  test('answers', async () => {
    const file = program(
      `${LISTEN} ({ ticket, asks }) => parentPort.postMessage({ kind: 'answer', ticket, gets: asks }))`,
    );
    const remote = createRemote<Echo>(openThread(file));
    expect(await remote.ask('echo', 'here')).toBe('here');
    remote.close();
  });

  for (const [how, text, words] of [
    ['ends without a word', `${LISTEN} () => process.exit(0))`, /ended before its work was done/],
    ['throws', `${LISTEN} () => { throw new Error('out of nowhere'); })`, /failed: out of nowhere/],
    ['does not load', "import './there-is-no-such-file.js'", /A worker thread (failed|ended)/],
  ] as const) {
    test(`that ${how} rejects what was asked instead of leaving it waiting`, async () => {
      const remote = createRemote<Echo>(openThread(program(text)));
      const asked = remote.ask('echo', 'here');
      await expect(asked).rejects.toBeInstanceOf(RemoteLost);
      await expect(asked).rejects.toThrow(words);
      remote.close();
    });
  }

  test('a pool of threads that all end rejects its strips', async () => {
    const pool = createPoolRunner(openThread(program(`${LISTEN} () => process.exit(0))`)), 2, 'two threads');
    pool.start({ id: 1 } as SwathJob);
    const task = { jobId: 1, y0: 0, rows: 1, windows: [], aim: new Uint8Array(1) } as unknown as SwathTask;
    await expect(pool.run(task)).rejects.toBeInstanceOf(RemoteLost);
    pool.dispose();
  });
});
