interface Rhythm {
  /** Rest after a change before it is written, and the longest that a change waits while others follow, ms. */
  readonly quietMs: number;
  readonly mostMs: number;
  /** Waits before a write that failed is tried again; the last one repeats. */
  readonly retryMs: readonly number[];
}
export const RHYTHM: Rhythm = { quietMs: 400, mostMs: 2000, retryMs: [3000, 10_000, 30_000] };

export interface Coalescer {
  /** Something changed: it is written in a while. Does no work itself. */
  touch(): void;
  /** Writes at once what waits. Rejects if it cannot be written. */
  flush(): Promise<void>;
  /** Whether something waits to be written. */
  waits(): boolean;
  /** Forgets what waits: it belongs to something that is not open any more. */
  drop(): void;
}

/**
 * Turns many changes into few writes, and tries again by itself what could not be written.
 * @param write begins to write before it returns, so that it works while the page is being left.
 */
export function createCoalescer(write: () => Promise<void>, { quietMs, mostMs, retryMs }: Rhythm = RHYTHM): Coalescer {
  let changes = 0;
  let written = 0;
  let failures = 0;
  let firstAt = 0;
  let timer: ReturnType<typeof setTimeout> | undefined;

  const waits = () => written < changes;
  const after = (ms: number) => {
    clearTimeout(timer);
    timer = setTimeout(() => run().catch(() => {}), ms);
  };

  async function run(): Promise<void> {
    clearTimeout(timer);
    if (!waits()) return;
    const upTo = changes;
    firstAt = 0;
    try {
      await write();
      written = Math.max(written, upTo);
      failures = 0;
    } catch (error) {
      // What was forgotten meanwhile is not tried again.
      if (written < upTo) {
        after(retryMs[Math.min(failures, retryMs.length - 1)]);
        failures++;
      }
      throw error;
    }
  }

  return {
    touch() {
      changes++;
      if (failures > 0) return;
      const now = Date.now();
      if (firstAt === 0) firstAt = now;
      after(Math.min(quietMs, Math.max(0, firstAt + mostMs - now)));
    },
    flush: run,
    waits,
    drop() {
      written = changes;
      failures = 0;
      firstAt = 0;
      clearTimeout(timer);
    },
  };
}
