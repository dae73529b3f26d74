import { describe, expect, test } from 'vitest';
import { DeviceLost, watchContext } from '../../src/base/card-watch.ts';
import { type Answerers, createAnswering, type OpenPort, RemoteLost } from '../../src/base/remote/remote.ts';
import { createJobShelf, createPoolRunner, type SwathQuestions } from '../../src/burn/runner.ts';
import type { SwathJob, SwathResult, SwathTask } from '../../src/burn/swath-task.ts';

const job = (id: number) => ({ id }) as SwathJob;
const swath = (y0: number, jobId = 1) => ({ jobId, y0, rows: 1, windows: [], aim: new Uint8Array(1) }) as SwathTask;
const result = (task: SwathTask) => ({ y0: task.y0, rows: task.rows }) as SwathResult;

/** Threads that die at their first swath, as many as said; the rest burn. */
function threads({ dying }: { dying: number }) {
  let started = 0;
  const open: OpenPort = ({ onMessage, onLost }) => {
    const dies = started < dying;
    started++;
    const jobs = createJobShelf();
    const answerers: Answerers<SwathQuestions> = {
      swath({ task, job: given }) {
        if (given) jobs.put(given);
        return { gets: jobs.has(task) ? result(task) : null };
      },
      lay: () => ({ gets: null }),
      search: ({ levels }) => ({ gets: levels }),
      warm: ({ heat }) => ({ gets: heat }),
    };
    const answer = createAnswering<SwathQuestions>(answerers, (message) => queueMicrotask(() => onMessage(message)));
    return {
      post: (message) => queueMicrotask(() => (dies ? onLost('A thread ended.') : answer(message))),
      close: () => {},
    };
  };
  return { open, count: () => started };
}

describe('a pool', () => {
  test('burns each swath with its job, which goes to each worker once it is asked for', async () => {
    const pool = createPoolRunner(threads({ dying: 0 }).open, 2, 'two threads');
    pool.start(job(1));
    const swaths = await Promise.all([0, 1, 2, 3].map((y0) => pool.run(swath(y0))));
    expect(swaths.map(({ y0 }) => y0)).toEqual([0, 1, 2, 3]);
    await expect(pool.run(swath(0, 7))).rejects.toThrow('before its job');
  });

  test('keeps a job that is in use while many others come, and a worker gets again what it has let go of', async () => {
    const pool = createPoolRunner(threads({ dying: 0 }).open, 2, 'two threads');
    pool.start(job(1));
    for (let other = 2; other < 300; other++) {
      pool.start(job(other));
      await pool.run(swath(0, other));
      if (other % 20 === 0) expect((await pool.run(swath(0))).y0).toBe(0);
    }
  });

  test('replaces a worker that dies and burns its swaths once more, with the job', async () => {
    const { open, count } = threads({ dying: 1 });
    const pool = createPoolRunner(open, 2, 'two threads');
    pool.start(job(1));
    const swaths = await Promise.all([0, 1, 2, 3].map((y0) => pool.run(swath(y0))));
    expect(swaths.map(({ y0 }) => y0)).toEqual([0, 1, 2, 3]);
    expect(count()).toBe(3);
  });

  test('whose workers all die rejects instead of waiting', async () => {
    const pool = createPoolRunner(threads({ dying: 99 }).open, 2, 'two threads');
    pool.start(job(1));
    await expect(pool.run(swath(0))).rejects.toBeInstanceOf(RemoteLost);
  });

  test('keeps the swaths’ buffers here, so that they can be burned again', async () => {
    const sent: unknown[] = [];
    const open: OpenPort = ({ onLost }) => ({
      post(_, transfer) {
        sent.push(...transfer);
        queueMicrotask(() => onLost('A thread ended.'));
      },
      close: () => {},
    });
    const pool = createPoolRunner(open, 1, 'one thread');
    pool.start(job(1));
    await expect(pool.run(swath(0))).rejects.toBeInstanceOf(RemoteLost);
    expect(sent).toEqual([]);
  });
});

/** As much of a context as is watched. Lost, it reads back zeros and, as browsers do, says so only later or not at all. */
function context() {
  const state = { lost: false, says: false, bound: 'its own' as unknown, pixel: new Uint8Array(4) };
  const gl = {
    FRAMEBUFFER: 1,
    FRAMEBUFFER_BINDING: 2,
    COLOR_ATTACHMENT0: 3,
    TEXTURE_2D: 4,
    TEXTURE_BINDING_2D: 5,
    RGBA: 6,
    UNSIGNED_BYTE: 7,
    isContextLost: () => state.says,
    getParameter: (name: number) => (name === 2 ? state.bound : null),
    createTexture: () => ({}),
    createFramebuffer: () => 'the pixel',
    bindTexture: () => {},
    bindFramebuffer: (_: number, framebuffer: unknown) => {
      state.bound = framebuffer;
    },
    framebufferTexture2D: () => {},
    texImage2D: (...args: readonly unknown[]) => {
      if (!state.lost) state.pixel = (args[8] as Uint8Array).slice();
    },
    readPixels: (...args: readonly unknown[]) => {
      if (!state.lost) (args[6] as Uint8Array).set(state.pixel);
    },
  };
  return { gl, state };
}

describe('a context of the graphics card', () => {
  test('that lives passes, and is left as it was found', () => {
    const { gl, state } = context();
    const assertLives = watchContext(gl);
    assertLives();
    expect(state.bound).toBe('its own');
  });

  test('that reads back zeros is lost though it does not say so', () => {
    const { gl, state } = context();
    const assertLives = watchContext(gl);
    state.lost = true;
    expect(assertLives).toThrow(DeviceLost);
  });

  test('that was lost before it was watched, or says that it is lost, is lost', () => {
    const before = context();
    before.state.lost = true;
    expect(watchContext(before.gl)).toThrow(DeviceLost);
    const says = context();
    const assertLives = watchContext(says.gl);
    says.state.says = true;
    expect(assertLives).toThrow(DeviceLost);
  });
});
