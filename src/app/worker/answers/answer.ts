import type { PartOf, QuestionName, Questions } from '../questions.ts';

export interface Asker<Part = never> {
  /** True once nobody waits for the answer any more. */
  readonly shouldStop: () => boolean;
  /** Share done, 0–1, with what is being done. */
  readonly onProgress: (share: number, stage: string) => void;
  /** What is known of the answer so far. */
  readonly onPart: (part: Part) => void;
}

/** What answers a question. Throws for people to read; hands over the buffers it names in `transfer`. */
export type Answerer<Name extends QuestionName> = (
  asks: Questions[Name]['asks'],
  asker: Asker<PartOf<Name>>,
) => Answer<Name> | Promise<Answer<Name>>;

export interface Answer<Name extends QuestionName> {
  readonly gets: Questions[Name]['gets'];
  readonly transfer?: readonly Transferable[];
}
