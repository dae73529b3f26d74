/** What the engine takes for granted of wherever it runs: page, worker or Node. Their own types say more. */
interface AbortSignal {
  readonly aborted: boolean;
  throwIfAborted(): void;
}

declare class AbortController {
  readonly signal: AbortSignal;
  abort(reason?: unknown): void;
}

declare function setTimeout(then: () => void, ms?: number): unknown;
