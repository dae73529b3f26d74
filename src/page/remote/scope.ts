/** The worker's global object; the DOM typings know it only as a window. */
interface WorkerScope {
  onmessage: ((event: MessageEvent) => void) | null;
  postMessage(message: unknown, transfer?: Transferable[]): void;
}
export const workerScope = self as unknown as WorkerScope;
