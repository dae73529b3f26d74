import { lazily } from '../base/lazily.ts';
import type { Answerers } from '../base/remote/answers.ts';
import { createRemote, type OpenPort, RemoteLost } from '../base/remote/remote.ts';
import type { BurnBackend } from './kernel/contract.ts';
import { createJobShelf, type StripRunner } from './runner.ts';
import { burnStrip } from './strip.ts';
import type { StripJob, StripResult, StripTask } from './strip-task.ts';

/** What a worker of the pool is asked. */
export interface StripQuestions {
  /** Null: it does not have the strip's job and is to be asked once more with it. */
  readonly strip: {
    readonly asks: { readonly task: StripTask; readonly job: StripJob | null };
    readonly gets: StripResult | null;
  };
}

/** The worker's side. */
export function stripAnswerers(loadBackend: () => Promise<BurnBackend>): Answerers<StripQuestions> {
  const backend = lazily(loadBackend);
  const jobs = createJobShelf();
  return {
    async strip({ task, job }) {
      if (job) jobs.put(job);
      if (!jobs.has(task)) return { gets: null };
      const result = await burnStrip(jobs.of(task), task, await backend());
      return { gets: result, transfer: buffersOf(result) };
    },
  };
}

function buffersOf({ color, relief, fields }: StripResult): ArrayBufferLike[] {
  const planes = fields ? [...fields.residueUm, fields.woodDepthUm, fields.excess] : [];
  return [color, relief, ...planes].flatMap((data) => data?.buffer ?? []);
}

/** A pool of workers; a strip's place decides which of them burns it. One that dies is replaced, and its strips are burned once more. */
export function createPoolRunner(open: OpenPort, size: number, description: string): StripRunner {
  const workers = Array.from({ length: size }, () => createRemote<StripQuestions>(open));
  const jobs = createJobShelf();
  async function burn(task: StripTask): Promise<StripResult> {
    // The same strip always goes to the same worker, which has its film already.
    const worker = workers[Math.floor(task.y0 / task.rows) % size];
    const result =
      (await worker.ask('strip', { task, job: null })) ?? (await worker.ask('strip', { task, job: jobs.of(task) }));
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
