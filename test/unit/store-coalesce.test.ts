import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { createCoalescer } from '../../src/page/store/keeping.ts';

const RHYTHM = { quietMs: 400, mostMs: 2000, retryMs: [3000, 10_000] };

beforeEach(() => {
  vi.useFakeTimers();
});
afterEach(() => {
  vi.useRealTimers();
});

describe('writes of a piece that changes', () => {
  test('a tick of a slider writes nothing itself; a burst is one write, after the hand rests', async () => {
    const write = vi.fn(async () => {});
    const coalescer = createCoalescer(write, RHYTHM);
    for (let i = 0; i < 10; i++) {
      coalescer.touch();
      expect(write).toHaveBeenCalledTimes(0);
      await vi.advanceTimersByTimeAsync(50);
    }
    await vi.advanceTimersByTimeAsync(400);
    expect(write).toHaveBeenCalledTimes(1);
    await vi.advanceTimersByTimeAsync(60_000);
    expect(write).toHaveBeenCalledTimes(1);
  });

  test('a drag that does not rest is written every two seconds', async () => {
    const write = vi.fn(async () => {});
    const coalescer = createCoalescer(write, RHYTHM);
    for (let i = 0; i < 100; i++) {
      coalescer.touch();
      await vi.advanceTimersByTimeAsync(100);
    }
    expect(write.mock.calls.length).toBeGreaterThanOrEqual(4);
    expect(write.mock.calls.length).toBeLessThanOrEqual(6);
  });

  test('leaving the page writes at once, even while a write is under way, and begins in the same task', async () => {
    let finish = () => {};
    const write = vi.fn(() => new Promise<void>((resolve) => (finish = resolve)));
    const coalescer = createCoalescer(write, RHYTHM);
    coalescer.touch();
    await vi.advanceTimersByTimeAsync(400);
    coalescer.touch();
    void coalescer.flush();
    expect(write).toHaveBeenCalledTimes(2);
    finish();
  });

  test('a change made during a write is not taken for written', async () => {
    const finish: (() => void)[] = [];
    const write = vi.fn(() => new Promise<void>((resolve) => finish.push(resolve)));
    const coalescer = createCoalescer(write, RHYTHM);
    coalescer.touch();
    await vi.advanceTimersByTimeAsync(400);
    coalescer.touch();
    finish[0]();
    await vi.advanceTimersByTimeAsync(0);
    expect(coalescer.waits()).toBe(true);
    await vi.advanceTimersByTimeAsync(400);
    expect(write).toHaveBeenCalledTimes(2);
  });

  test('what could not be written is tried again by itself, further and further apart, until it is', async () => {
    let room = false;
    const write = vi.fn(async () => {
      if (!room) throw new Error('no room');
    });
    const coalescer = createCoalescer(write, RHYTHM);
    coalescer.touch();
    await vi.advanceTimersByTimeAsync(400);
    expect(write).toHaveBeenCalledTimes(1);
    // A slider that is moved meanwhile does not hammer a full disk.
    for (let i = 0; i < 20; i++) {
      coalescer.touch();
      await vi.advanceTimersByTimeAsync(100);
    }
    expect(write).toHaveBeenCalledTimes(1);
    await vi.advanceTimersByTimeAsync(1000);
    expect(write).toHaveBeenCalledTimes(2);
    room = true;
    await vi.advanceTimersByTimeAsync(10_000);
    expect(write).toHaveBeenCalledTimes(3);
    expect(coalescer.waits()).toBe(false);
    coalescer.touch();
    await vi.advanceTimersByTimeAsync(400);
    expect(write).toHaveBeenCalledTimes(4);
  });

  test('flushing tells whether it is written', async () => {
    const coalescer = createCoalescer(async () => {
      throw new Error('no room');
    }, RHYTHM);
    await coalescer.flush();
    coalescer.touch();
    await expect(coalescer.flush()).rejects.toThrow('no room');
    coalescer.drop();
    await coalescer.flush();
    expect(coalescer.waits()).toBe(false);
  });
});
