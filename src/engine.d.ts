/** What the engine takes for granted of wherever it runs: page, worker or Node. Their own types say more. */
interface AbortSignal {
  readonly aborted: boolean;
  throwIfAborted(): void;
}

declare class AbortController {
  readonly signal: AbortSignal;
  abort(reason?: unknown): void;
}

interface DoorbellPort {
  onmessage: ((event: never) => void) | null;
  postMessage(message: unknown): void;
  close(): void;
}

declare class MessageChannel {
  readonly port1: DoorbellPort;
  readonly port2: DoorbellPort;
}
