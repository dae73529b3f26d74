import { describe, expect, it } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { createTask } from '../../src/page/remote/task.ts';

/** Work that goes on until it is let go or stopped, as a question to a worker does. */
function work<Value>() {
  let settle: { done: (value: Value) => void; fail: (error: unknown) => void } | null = null;
  const promise = (signal: AbortSignal) =>
    new Promise<Value>((done, fail) => {
      settle = { done, fail };
      signal.addEventListener('abort', () => fail(new Cancelled()));
    });
  return { promise, done: (value: Value) => settle!.done(value), fail: (error: unknown) => settle!.fail(error) };
}

describe('a task', () => {
  it('says what is being done and how far it is, and hands on what came of it', async () => {
    const task = createTask();
    const burn = work<number>();
    const run = task.run('burning', ({ signal, onProgress, goOn }) => {
      onProgress(0.4);
      goOn('looking');
      return burn.promise(signal);
    });
    expect(task.state()).toEqual({ busy: 'looking', share: 0.4, fault: null, said: null });
    burn.done(7);
    expect(await run).toBe(7);
    expect(task.state().busy).toBeNull();
  });

  it('tells a fault as a sentence, until it is begun anew', async () => {
    const task = createTask();
    const failed = task.run('burning', () => Promise.reject(new RangeError('there is no such coat')));
    expect(await failed).toBeNull();
    expect(task.state()).toMatchObject({ busy: null, fault: 'There is no such coat.' });
    const burn = work<number>();
    const again = task.run('burning', ({ signal }) => burn.promise(signal));
    expect(task.state().fault).toBeNull();
    burn.done(1);
    expect(await again).toBe(1);
  });

  it('can be stopped, which is no fault', async () => {
    const task = createTask();
    const run = task.run('burning', ({ signal }) => work<number>().promise(signal));
    task.stop();
    expect(await run).toBeNull();
    expect(task.state()).toMatchObject({ busy: null, fault: null });
  });

  it('gives up what is under way when something else is begun, and hears no more of it', async () => {
    const task = createTask();
    const slow = work<number>();
    let tell: (share: number) => void = () => {};
    const first = task.run('burning', ({ signal, onProgress }) => {
      tell = onProgress;
      return slow.promise(signal);
    });
    const quick = work<number>();
    const second = task.run('comparing', ({ signal }) => quick.promise(signal));
    tell(0.9);
    expect(task.state()).toMatchObject({ busy: 'comparing', share: 0 });
    expect(await first).toBeNull();
    expect(task.state().busy).toBe('comparing');
    quick.done(2);
    expect(await second).toBe(2);
  });

  it('lets go of what is left of the work that has failed', async () => {
    const task = createTask();
    const signals: AbortSignal[] = [];
    await task.run('burning', ({ signal }) => {
      signals.push(signal);
      return Promise.reject(new Error('one of two lanes failed'));
    });
    expect(signals[0].aborted).toBe(true);
  });

  it('says what was done beside it', () => {
    const task = createTask();
    task.tell({ said: 'Saved card.json.' });
    expect(task.state().said).toBe('Saved card.json.');
  });
});
