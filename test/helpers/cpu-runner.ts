import { createInlineRunner, type SwathRunner } from '../../src/burn/runner.ts';

let runner: Promise<SwathRunner> | null = null;

/** The kernels that the command line burns with. One for all files that a process works through: they are compiled once for each size. */
export function cpuRunner(): Promise<SwathRunner> {
  runner ??= Promise.resolve(createInlineRunner());
  return runner;
}
