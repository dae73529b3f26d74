import { describe, expect, test, vi } from 'vitest';
import {
  type Answerers,
  askOnce,
  createAnswering,
  createRemote,
  type FromRemote,
  type OpenPort,
  RemoteLost,
  type ToRemote,
} from '../../src/base/remote/remote.ts';
import { Cancelled } from '../../src/base/stop.ts';

interface Sums {
  readonly add: { readonly asks: readonly number[]; readonly gets: number; readonly parts: number };
  readonly never: { readonly asks: null; readonly gets: null };
}

/** A side that answers in this thread, as a worker would: what is posted arrives later, copied. */
function side(answerers: Answerers<Sums>) {
  const lines: { lose: (words: string) => void; closed: boolean; heard: ToRemote[] }[] = [];
  const open: OpenPort = ({ onMessage, onLost }) => {
    const line = { lose: onLost, closed: false, heard: [] as ToRemote[] };
    lines.push(line);
    const answer = createAnswering<Sums>(answerers, (message: FromRemote) => {
      const copy = structuredClone(message);
      queueMicrotask(() => onMessage(copy));
    });
    return {
      post(message) {
        const copy = structuredClone(message);
        line.heard.push(copy);
        queueMicrotask(() => answer(copy));
      },
      close() {
        line.closed = true;
      },
    };
  };
  return { open, lines };
}

const SUMS: Answerers<Sums> = {
  async add(numbers, { onPart, onProgress }) {
    let sum = 0;
    for (const [i, one] of numbers.entries()) {
      sum += one;
      onPart(sum);
      onProgress((i + 1) / numbers.length, 'adding');
    }
    if (Number.isNaN(sum)) throw new Error('that is no number');
    return { gets: sum };
  },
  never: () => new Promise(() => {}),
};

describe('a question', () => {
  test('gets its parts, its progress and its answer', async () => {
    const remote = createRemote<Sums>(side(SUMS).open);
    const onPart = vi.fn();
    const onProgress = vi.fn();
    expect(await remote.ask('add', [1, 2, 3], { onPart, onProgress })).toBe(6);
    expect(onPart.mock.calls).toEqual([[1], [3], [6]]);
    expect(onProgress).toHaveBeenLastCalledWith(1, 'adding');
  });

  test('that fails ends in the sentence of the other side', async () => {
    const remote = createRemote<Sums>(side(SUMS).open);
    await expect(remote.ask('add', [Number.NaN])).rejects.toThrow('that is no number');
  });

  test('that cannot be sent ends alone', async () => {
    const { open, lines } = side(SUMS);
    const remote = createRemote<Sums>(open);
    await expect(remote.ask('add', [(() => 1) as never])).rejects.toThrow();
    expect(await remote.ask('add', [1])).toBe(1);
    expect(lines).toHaveLength(1);
  });

  test('whose answer cannot be sent fails instead of waiting', async () => {
    const remote = createRemote<Sums>(side({ ...SUMS, add: () => ({ gets: (() => 1) as never }) }).open);
    await expect(remote.ask('add', [1])).rejects.toThrow(/clone/);
  });

  test('that is stopped is Cancelled at once, and the other side hears of it', async () => {
    let signal: AbortSignal | null = null;
    const { open, lines } = side({
      ...SUMS,
      never: (_, asker) => {
        signal = asker.signal;
        return new Promise(() => {});
      },
    });
    const remote = createRemote<Sums>(open);
    const abort = new AbortController();
    const asked = remote.ask('never', null, { signal: abort.signal });
    await Promise.resolve();
    abort.abort();
    await expect(asked).rejects.toBeInstanceOf(Cancelled);
    await Promise.resolve();
    expect((signal as AbortSignal | null)?.reason).toBeInstanceOf(Cancelled);
    expect(lines[0].heard.map(({ kind }) => kind)).toEqual(['ask', 'stop']);
    await expect(remote.ask('never', null, { signal: abort.signal })).rejects.toBeInstanceOf(Cancelled);
  });

  test('that the other side gives up is Cancelled', async () => {
    const remote = createRemote<Sums>(
      side({
        ...SUMS,
        add: () => {
          throw new Cancelled();
        },
      }).open,
    );
    await expect(remote.ask('add', [])).rejects.toBeInstanceOf(Cancelled);
  });
});

describe('a side that is lost', () => {
  test('rejects all that is under way with its words, and the next question opens another line', async () => {
    const { open, lines } = side(SUMS);
    const remote = createRemote<Sums>(open);
    const asked = [remote.ask('never', null), remote.ask('never', null)];
    lines[0].lose('It is gone. Try again.');
    for (const one of await Promise.allSettled(asked)) {
      expect(one).toMatchObject({ status: 'rejected', reason: new RemoteLost('It is gone. Try again.') });
    }
    expect(lines[0].closed).toBe(true);
    expect(await remote.ask('add', [4])).toBe(4);
    expect(lines).toHaveLength(2);
  });

  test('is told before the questions end, and what is asked then goes over the next line', async () => {
    const { open, lines } = side(SUMS);
    let again: Promise<number> | null = null;
    const remote = createRemote<Sums>(open, () => {
      again = remote.ask('add', [1, 1]);
    });
    const asked = remote.ask('never', null);
    lines[0].lose('Gone.');
    await expect(asked).rejects.toBeInstanceOf(RemoteLost);
    expect(await again).toBe(2);
    expect(lines).toHaveLength(2);
  });

  test('cannot end the line after it by dying twice', async () => {
    const { open, lines } = side(SUMS);
    const remote = createRemote<Sums>(open);
    remote.ask('never', null).catch(() => {});
    lines[0].lose('Gone.');
    const asked = remote.ask('add', [5]);
    lines[0].lose('Gone.');
    expect(await asked).toBe(5);
  });
});

describe('an end that is wanted', () => {
  test('stop cancels all and ends the side; the next question opens another one', async () => {
    const { open, lines } = side(SUMS);
    const remote = createRemote<Sums>(open);
    const asked = remote.ask('never', null);
    remote.stop();
    await expect(asked).rejects.toBeInstanceOf(Cancelled);
    expect(lines[0].closed).toBe(true);
    expect(await remote.ask('add', [1])).toBe(1);
  });

  test('close answers what is open and what comes after it, and opens nothing more', async () => {
    const { open, lines } = side(SUMS);
    const remote = createRemote<Sums>(open);
    const asked = remote.ask('never', null);
    remote.close();
    await expect(asked).rejects.toBeInstanceOf(Cancelled);
    await expect(remote.ask('add', [1])).rejects.toBeInstanceOf(Cancelled);
    expect(lines.map(({ closed }) => closed)).toEqual([true]);
  });

  test('a side that is asked once ends with its answer, its fault or a stop', async () => {
    const { open, lines } = side(SUMS);
    const abort = new AbortController();
    expect(await askOnce<Sums, 'add'>(open, 'add', [2, 3])).toBe(5);
    await expect(askOnce<Sums, 'add'>(open, 'add', [Number.NaN])).rejects.toThrow('no number');
    const asked = askOnce<Sums, 'never'>(open, 'never', null, { signal: abort.signal });
    abort.abort();
    await expect(asked).rejects.toBeInstanceOf(Cancelled);
    expect(lines.map(({ closed }) => closed)).toEqual([true, true, true]);
  });
});
