import { DeviceLost } from '../base/card-watch.ts';
import { createJobShelf, type StripRunner } from './runner.ts';

/**
 * A runner that outlives the device it runs on: strips that a device was lost with are burned once more on what `choose` gives then.
 * It is told how many losses there were, and must end with something that cannot be lost.
 */
export async function createLastingRunner(choose: (losses: number) => Promise<StripRunner>): Promise<StripRunner> {
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
          // Several strips may find out at once.
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
