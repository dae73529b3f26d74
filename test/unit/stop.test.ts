import { expect, test } from 'vitest';
import { breathe, Cancelled } from '../../src/base/stop.ts';

/** Works until it is stopped, and at most so long, ms. */
async function work(signal: AbortSignal | undefined, mostMs: number): Promise<void> {
  const end = Date.now() + mostMs;
  while (Date.now() < end) await breathe(signal);
}

test('a wish to stop comes in while something computes, and its reason is thrown', async () => {
  const stop = new AbortController();
  setTimeout(() => stop.abort(new Cancelled()), 0);
  await expect(work(stop.signal, 20_000)).rejects.toBeInstanceOf(Cancelled);
});

test('what is stopped already does not begin, and without a signal nothing waits', async () => {
  await expect(breathe(AbortSignal.abort(new Cancelled()))).rejects.toBeInstanceOf(Cancelled);
  let other = 0;
  setTimeout(() => {
    other++;
  }, 0);
  for (let i = 0; i < 1000; i++) await breathe();
  expect(other).toBe(0);
});
