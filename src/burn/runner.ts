import { Cancelled } from '../base/cancelled.ts';
import { DeviceLost } from '../base/card-watch.ts';
import { lazily } from '../base/lazily.ts';
import { type Answerers, createRemote, type OpenPort, RemoteLost } from '../base/remote/remote.ts';
import type { ToneImage } from '../image/picture.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import { LIGHT_AREA_LIGHTNESS } from './clearing.ts';
import type { BurnBackend } from './kernel/contract.ts';
import { haloOf } from './plan.ts';
import { burnSwath, burnsAtLightEnd, type CellGrid, cutWindow, soundSwath } from './swath.ts';
import type { SwathJob, SwathResult, SwathTask } from './swath-task.ts';

/** Something that burns swaths, several at a time. */
export interface SwathRunner {
  /** Swaths worth having under way at once. */
  readonly lanes: number;
  /** What runs and why, for people. */
  readonly description: string;
  /** Several jobs may be under way at once; after `JOBS_KEPT` newer ones a job is forgotten. */
  start(job: SwathJob): void;
  run(task: SwathTask): Promise<SwathResult>;
  /** Burns all that is to be burned its own way, and hands on swaths in any order; false if it does not take this. Throws as `runSwaths` does. */
  burnWhole?(work: SwathWork, hooks: SwathHooks): Promise<boolean>;
  dispose(): void;
}

const JOBS_KEPT = 8;

/** The jobs last started, by their ids. */
interface JobShelf {
  put(job: SwathJob): void;
  has(task: SwathTask): boolean;
  /** @throws Error for a job that is not there. */
  of(task: SwathTask): SwathJob;
}

export function createJobShelf(): JobShelf {
  const jobs = new Map<number, SwathJob>();
  return {
    put(job) {
      jobs.set(job.id, job);
      if (jobs.size > JOBS_KEPT) jobs.delete(jobs.keys().next().value as number);
    },
    has: ({ jobId }) => jobs.has(jobId),
    of({ jobId }) {
      const job = jobs.get(jobId);
      if (!job) throw new Error('a swath came before its job');
      return job;
    },
  };
}

/** Burns swaths where it is called, on one backend. */
export function createInlineRunner(backend: BurnBackend): SwathRunner {
  const jobs = createJobShelf();
  return {
    lanes: 1,
    description: `${backend.name}, in place (${backend.reason})`,
    start: jobs.put,
    run: async (task) => burnSwath(jobs.of(task), task, backend),
    dispose() {
      backend.dispose();
    },
  };
}

/** All that is to be burned of a picture, or of a part of it. */
export interface SwathWork {
  readonly job: SwathJob;
  /** The cells to burn; where they are a part of the picture, `firstX` and `firstY` say which. */
  readonly grid: CellGrid;
  readonly screened: readonly ScreenedPass[];
  /** The whole picture as the first pass burns it. */
  readonly tone: ToneImage;
  readonly lightens: boolean;
  /** Cell rows per swath. */
  readonly swathRows: number;
}

export interface SwathHooks {
  readonly shouldStop: () => boolean;
  /** Swaths in the order in which they are done. */
  readonly onSwath?: (swath: SwathResult) => void;
  readonly onShare?: (share: number) => void;
}

/** Sends the swaths through the runner, as many at a time as it has lanes for. @throws Cancelled; RangeError from `soundSwath`. */
export async function runSwaths(runner: SwathRunner, work: SwathWork, hooks: SwathHooks): Promise<void> {
  if (await runner.burnWhole?.(work, hooks)) return;
  const { job, grid, screened, swathRows } = work;
  runner.start(job);
  const count = Math.ceil(grid.height / swathRows);
  let next = 0;
  let done = 0;
  const lane = async (): Promise<void> => {
    while (next < count) {
      if (hooks.shouldStop()) throw new Cancelled();
      const y0 = next * swathRows;
      next++;
      const rows = Math.min(swathRows, grid.height - y0);
      const windows = screened.map((pass, i) => {
        const halo = haloOf(job.passes[i]);
        return cutWindow(pass, grid, y0, rows, halo.rows, halo.columns);
      });
      const result = soundSwath(await runner.run({ jobId: job.id, y0, rows, windows, aim: aimOf(work, y0, rows) }));
      if (hooks.shouldStop()) throw new Cancelled();
      done++;
      hooks.onSwath?.(result);
      hooks.onShare?.(done / count);
    }
  };
  await Promise.all(Array.from({ length: runner.lanes }, lane));
}

type AimWork = Pick<SwathWork, 'tone' | 'screened' | 'grid' | 'lightens'>;

/** 1 in the picture, 2 where it is light and some pass burns its dot at the light end, so that the coat is meant to be gone. */
export function aimOf({ tone, screened, grid, lightens }: AimWork, y0: number, rows: number): Uint8Array {
  const { firstX = 0, firstY = 0 } = grid;
  const aim = new Uint8Array(grid.width * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < grid.width; x++) {
      const at = (firstY + y0 + y) * tone.width + firstX + x;
      if (tone.mask[at] === 0) continue;
      const light = lightens && tone.lightness[at] >= LIGHT_AREA_LIGHTNESS;
      aim[y * grid.width + x] = light && burnsAtLightEnd(screened, grid, x, y0 + y) ? 2 : 1;
    }
  }
  return aim;
}

/**
 * A runner that outlives the device it runs on: swaths that a device was lost with are burned once more on what `choose` gives then.
 * It is told how many losses there were, and must end with something that cannot be lost.
 */
export async function createLastingRunner(choose: (losses: number) => Promise<SwathRunner>): Promise<SwathRunner> {
  let losses = 0;
  let now = await choose(losses);
  let renewing: Promise<void> | null = null;
  const jobs = createJobShelf();

  async function renew(): Promise<void> {
    now.dispose();
    losses++;
    now = await choose(losses);
  }

  return {
    get lanes() {
      return now.lanes;
    },
    get description() {
      return now.description;
    },
    start(job) {
      jobs.put(job);
      now.start(job);
    },
    async run(task) {
      for (;;) {
        const runner = now;
        try {
          return await runner.run(task);
        } catch (error) {
          if (!(error instanceof DeviceLost)) throw error;
          // Several swaths may find out at once.
          if (runner === now) {
            renewing ??= renew().finally(() => {
              renewing = null;
            });
          }
          await renewing;
          now.start(jobs.of(task));
        }
      }
    },
    dispose() {
      now.dispose();
    },
  };
}

/** What a worker of the pool is asked. */
export interface StripQuestions {
  /** Null: it does not have the swath's job and is to be asked once more with it. */
  readonly swath: {
    readonly asks: { readonly task: SwathTask; readonly job: SwathJob | null };
    readonly gets: SwathResult | null;
  };
}

/** The worker's side. */
export function stripAnswerers(loadBackend: () => Promise<BurnBackend>): Answerers<StripQuestions> {
  const backend = lazily(loadBackend);
  const jobs = createJobShelf();
  return {
    async swath({ task, job }) {
      if (job) jobs.put(job);
      if (!jobs.has(task)) return { gets: null };
      const result = await burnSwath(jobs.of(task), task, await backend());
      return { gets: result, transfer: buffersOf(result) };
    },
  };
}

function buffersOf({ color, relief, through, fields }: SwathResult): ArrayBufferLike[] {
  const planes = fields ? [...fields.residueUm, fields.woodDepthUm, fields.excess] : [];
  return [color, relief, through, ...planes].flatMap((data) => data?.buffer ?? []);
}

/** A pool of workers; a swath's place decides which of them burns it. One that dies is replaced, and its swaths are burned once more. */
export function createPoolRunner(open: OpenPort, size: number, description: string): SwathRunner {
  const workers = Array.from({ length: size }, () => createRemote<StripQuestions>(open));
  const jobs = createJobShelf();
  async function burn(task: SwathTask): Promise<SwathResult> {
    // The same swath always goes to the same worker, which has its film already.
    const worker = workers[Math.floor(task.y0 / task.rows) % size];
    const result =
      (await worker.ask('swath', { task, job: null })) ?? (await worker.ask('swath', { task, job: jobs.of(task) }));
    if (!result) throw new Error('a worker does not take its job');
    return result;
  }
  return {
    lanes: size,
    description,
    start: jobs.put,
    run: (task) =>
      burn(task).catch((error: unknown) => {
        if (error instanceof RemoteLost) return burn(task);
        throw error;
      }),
    dispose() {
      for (const worker of workers) worker.close();
    },
  };
}
