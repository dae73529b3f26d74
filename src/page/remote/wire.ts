import type { FromRemote, ToRemote } from '../../base/remote/wire.ts';

/** What passes between a page and its worker: questions and answers, and whether the worker lives. */
export type ToWorker = ToRemote | { readonly kind: 'ping' };
export type FromWorker =
  | FromRemote
  /** Its program is there. It holds the lock of that name until it ends; null where there are no locks. */
  | { readonly kind: 'hello'; readonly lock: string | null }
  | { readonly kind: 'pong' };
