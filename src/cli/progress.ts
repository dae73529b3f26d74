import type { CliIo } from './io.ts';

/** One line on a terminal that says what is being done; nothing in a pipe. */
export function createProgress(io: CliIo): { show: (share: number, stage: string) => void; clear: () => void } {
  if (!io.terminal) return { show: () => {}, clear: () => {} };
  const erase = '\r\u001b[K';
  return {
    show: (share, stage) => io.error(`${erase}${stage} ${Math.round(100 * share)} %`),
    clear: () => io.error(erase),
  };
}
