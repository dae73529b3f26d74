import { type JobRefusal, JobRefused } from '../../../outputs/program/refusals.ts';
import { type ScrapBurn, type ScrapJob, scrapJob } from '../../../outputs/program/scrap-job.ts';
import { readBack } from './read-back.ts';

export type ScrapJobAnswer = ScrapJob | { readonly refusals: readonly JobRefusal[] };

/** The archive of a burn on scrap, each program read back, or why there is none. @throws Cancelled. */
export async function answerScrapJob(burn: ScrapBurn, signal: AbortSignal): Promise<ScrapJobAnswer> {
  try {
    return await scrapJob(
      burn,
      (program, promise) => readBack(new Blob([program as BlobPart]), promise, async () => {}),
      signal,
    );
  } catch (error) {
    if (error instanceof JobRefused) return { refusals: error.refusals };
    throw error;
  }
}
