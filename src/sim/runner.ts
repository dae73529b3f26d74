import type { BurnBackend } from '../kernels/contract.ts';
import { burnStrip } from './strip.ts';
import type { StripJob, StripResult, StripTask } from './strip-task.ts';

/** Something that burns strips, several at a time. */
export interface StripRunner {
  /** Strips worth having under way at once. */
  readonly lanes: number;
  /** What runs and why, for people. */
  readonly description: string;
  start(job: StripJob): void;
  run(task: StripTask): Promise<StripResult>;
  dispose(): void;
}

/** Burns strips where it is called, on one backend. */
export function createInlineRunner(backend: BurnBackend): StripRunner {
  let job: StripJob | null = null;
  return {
    lanes: 1,
    description: `${backend.name}, in place (${backend.reason})`,
    start(next) {
      job = next;
    },
    async run(task) {
      if (job?.id !== task.jobId) throw new Error('a strip came before its job');
      return burnStrip(job, task, backend);
    },
    dispose() {
      backend.dispose();
    },
  };
}
