/** Why a signal stops a long computation: who asked for it does not want it any more. Not a fault. */
export class Cancelled extends Error {
  constructor() {
    super('cancelled');
    this.name = 'Cancelled';
  }
}

/** How long work goes on before it lets messages in, ms: short enough that nobody waits for a stop to be heeded. */
const TURN_MS = 12;

let turnedAt = 0;

// biome-ignore lint/style/noRestrictedGlobals: it decides when messages come in, never what comes out.
const now = (): number => Date.now();

/** Lets messages come in and goes on at once: a timer waits some milliseconds where it follows others. */
const turn = () =>
  new Promise<void>((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => {
      port1.close();
      resolve();
    };
    port2.postMessage(null);
  });

/**
 * Where a computation may be stopped. Messages come in now and then, so that a wish to stop can arrive in the thread that computes. Does
 * nothing without a signal. @throws the signal's reason, `Cancelled` as a rule.
 */
export async function breathe(signal?: AbortSignal): Promise<void> {
  if (!signal) return;
  if (now() - turnedAt >= TURN_MS) {
    await turn();
    turnedAt = now();
  }
  signal.throwIfAborted();
}
