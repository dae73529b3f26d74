import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { FromRemote } from '../../src/base/remote/remote.ts';
import { openWorker } from '../../src/page/remote/worker-port.ts';

/** Stands in for a browser's worker: `say` is what the worker posts, `fail` an error event. */
class FakeWorker {
  onmessage: ((event: { data: unknown }) => void) | null = null;
  onerror: ((event: { message: string; preventDefault(): void }) => void) | null = null;
  onmessageerror: (() => void) | null = null;
  readonly posted: unknown[] = [];
  ended = false;
  postMessage(message: unknown): void {
    this.posted.push(message);
  }
  terminate(): void {
    this.ended = true;
  }
  say(data: unknown): void {
    this.onmessage?.({ data });
  }
  fail(message = ''): void {
    this.onerror?.({ message, preventDefault: () => {} });
  }
}

/** Locks as a page sees them: what it waits for is granted when the holder is gone. */
const waits = new Map<string, () => void>();
const ask = { kind: 'ask', ticket: 1, name: 'x', asks: null } as const;

function line() {
  const workers: FakeWorker[] = [];
  const heard: FromRemote[] = [];
  const lost: string[] = [];
  const spawn = () => {
    workers.push(new FakeWorker());
    return workers[workers.length - 1] as unknown as Worker;
  };
  const port = openWorker(
    spawn,
    'sings',
  )({ onMessage: (message) => heard.push(message), onLost: (words) => lost.push(words) });
  return { workers, heard, lost, port };
}

beforeEach(() => {
  vi.useFakeTimers();
  waits.clear();
  vi.stubGlobal('navigator', {
    locks: {
      request: (name: string, { signal }: { signal: AbortSignal }, held: () => void) =>
        new Promise((resolve, reject) => {
          waits.set(name, () => resolve(held()));
          signal.addEventListener('abort', () => reject(signal.reason));
        }),
    },
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe('a worker that does not load', () => {
  test('is started once more, and what was asked goes to the second one', () => {
    const { workers, lost, port } = line();
    port.post(ask, []);
    workers[0].fail();
    expect(workers[0].ended).toBe(true);
    expect(workers[0].posted).toEqual([]);
    workers[1].say({ kind: 'hello', lock: 'one' });
    expect(workers[1].posted).toEqual([ask]);
    expect(lost).toEqual([]);
  });

  test('twice is lost, with words that say what to do', () => {
    const { workers, lost } = line();
    workers[0].fail();
    workers[1].fail();
    expect(lost).toEqual([
      'The part of Foreburn that sings could not be loaded. Check the connection, then try again or reload the page.',
    ]);
    expect(workers).toHaveLength(2);
  });

  test('without a word is given up after a while', () => {
    const { workers, lost } = line();
    vi.runAllTimers();
    expect(workers.map(({ ended }) => ended)).toEqual([true, true]);
    expect(lost).toHaveLength(1);
  });

  test('because the browser forbids it is lost, not thrown', () => {
    const lost: string[] = [];
    openWorker(() => {
      throw new Error('forbidden');
    }, 'sings')({ onMessage: () => {}, onLost: (words) => lost.push(words) });
    vi.runAllTimers();
    expect(lost).toHaveLength(1);
  });
});

describe('a worker under way', () => {
  test('that ends without a word is noticed by its lock, and is not started again by the line', async () => {
    const { workers, lost } = line();
    workers[0].say({ kind: 'hello', lock: 'its-own' });
    expect(lost).toEqual([]);
    waits.get('its-own')?.();
    expect(lost[0]).toMatch(/^The part of Foreburn that sings was ended by the browser.* try again\.$/);
    expect(workers).toHaveLength(1);
  });

  test('that throws is ended, and its words are told', () => {
    const { workers, lost } = line();
    workers[0].say({ kind: 'hello', lock: 'its-own' });
    workers[0].fail('x is undefined');
    expect(workers[0].ended).toBe(true);
    expect(lost).toEqual(['The part of Foreburn that sings failed: x is undefined. Try again.']);
  });

  test('may compute for as long as it likes', () => {
    const { workers, lost } = line();
    workers[0].say({ kind: 'hello', lock: 'its-own' });
    vi.advanceTimersByTime(3_600_000);
    expect(lost).toEqual([]);
  });

  test('without locks is asked now and then, and lost only after many pings unanswered', () => {
    const { workers, lost } = line();
    workers[0].say({ kind: 'hello', lock: null });
    vi.advanceTimersByTime(100_000);
    expect(workers[0].posted).toContainEqual({ kind: 'ping' });
    workers[0].say({ kind: 'pong' });
    vi.advanceTimersByTime(100_000);
    expect(lost).toEqual([]);
    vi.advanceTimersByTime(600_000);
    expect(lost).toHaveLength(1);
  });

  test('that is closed by the page is not told as lost', () => {
    const { workers, lost, port } = line();
    workers[0].say({ kind: 'hello', lock: 'its-own' });
    port.close();
    waits.get('its-own')?.();
    workers[0].fail('late');
    vi.runAllTimers();
    expect(workers[0].ended).toBe(true);
    expect(lost).toEqual([]);
  });
});
