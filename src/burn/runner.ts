import type { BurnBackend } from './kernel/contract.ts';
import { burnStrip } from './strip.ts';
import type { StripJob, StripResult, StripTask } from './strip-task.ts';

/** Something that burns strips, several at a time. */
export interface StripRunner {
  /** Strips worth having under way at once. */
  readonly lanes: number;
  /** What runs and why, for people. */
  readonly description: string;
  /** Several jobs may be under way at once; after `JOBS_KEPT` newer ones a job is forgotten. */
  start(job: StripJob): void;
  run(task: StripTask): Promise<StripResult>;
  dispose(): void;
}

const JOBS_KEPT = 8;

/** The jobs last started, by their ids. */
export interface JobShelf {
  put(job: StripJob): void;
  has(task: StripTask): boolean;
  /** @throws Error for a job that is not there. */
  of(task: StripTask): StripJob;
}

export function createJobShelf(): JobShelf {
  const jobs = new Map<number, StripJob>();
  return {
    put(job) {
      jobs.set(job.id, job);
      if (jobs.size > JOBS_KEPT) jobs.delete(jobs.keys().next().value as number);
    },
    has: ({ jobId }) => jobs.has(jobId),
    of({ jobId }) {
      const job = jobs.get(jobId);
      if (!job) throw new Error('a strip came before its job');
      return job;
    },
  };
}

/** Burns strips where it is called, on one backend. */
export function createInlineRunner(backend: BurnBackend): StripRunner {
  const jobs = createJobShelf();
  return {
    lanes: 1,
    description: `${backend.name}, in place (${backend.reason})`,
    start: jobs.put,
    run: async (task) => burnStrip(jobs.of(task), task, backend),
    dispose() {
      backend.dispose();
    },
  };
}
