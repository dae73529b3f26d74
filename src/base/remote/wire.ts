/** What one side may ask of the other; the page's workers and the command line's threads all speak so. */
export interface Question {
  readonly asks: unknown;
  readonly gets: unknown;
  /** What is known of the answer on the way; most questions have none. */
  readonly parts?: unknown;
}
/** A set of questions: an interface whose every entry is one. */
export type QuestionSet<Q> = { readonly [Name in keyof Q]: Question };
/** What a question gives away before it is answered. */
export type PartOf<Q extends QuestionSet<Q>, Name extends keyof Q> = Q[Name] extends { readonly parts: infer Part }
  ? Part
  : never;

export type ToRemote =
  | { readonly kind: 'ask'; readonly ticket: number; readonly name: PropertyKey; readonly asks: unknown }
  /** Nobody waits for that answer any more. */
  | { readonly kind: 'stop'; readonly ticket: number };

export type FromRemote =
  | { readonly kind: 'answer'; readonly ticket: number; readonly gets: unknown }
  | { readonly kind: 'part'; readonly ticket: number; readonly part: unknown }
  | { readonly kind: 'progress'; readonly ticket: number; readonly share: number; readonly stage: string }
  /** It gave itself up. */
  | { readonly kind: 'stopped'; readonly ticket: number }
  | { readonly kind: 'failed'; readonly ticket: number; readonly message: string };
