import type { Piece } from '../../core/piece/schema.ts';
import type { PassTime } from '../../core/raster/pass-time.ts';
import type { Diagnosis } from '../../sim/diagnosis/diagnose.ts';
import type { HowSure } from '../../sim/how-sure.ts';
import type { ProofSummary } from '../../sim/statistics.ts';
import type { PartOf, QuestionName, Questions } from './questions.ts';

/** What the page asks of the proof worker. Ids and keys are the page's own. */
export type ToProofWorker =
  | { readonly kind: 'photo'; readonly key: string; readonly bytes: Uint8Array }
  | { readonly kind: 'proof'; readonly id: string; readonly piece: Piece; readonly photoKey: string }
  | { readonly kind: 'cancel' }
  | { readonly kind: 'ask'; readonly ticket: number; readonly ask: Ask }
  /** Nobody waits for that answer any more. */
  | { readonly kind: 'leave'; readonly ticket: number }
  | { readonly kind: 'forget'; readonly id: string }
  | { readonly kind: 'forget-photo'; readonly key: string };

/** A question with its name. */
export type Ask = {
  readonly [Name in QuestionName]: { readonly name: Name; readonly asks: Questions[Name]['asks'] };
}[QuestionName];

export interface WireStrip {
  readonly y0: number;
  readonly rows: number;
  readonly color: Uint8Array;
  readonly relief: Uint16Array;
}

export interface ProofResult {
  readonly summary: ProofSummary;
  readonly passes: readonly PassTime[];
  readonly direction: 'lightens' | 'darkens';
  readonly backend: string;
  readonly stagesMs: Readonly<Record<string, number>>;
}

export type FromProofWorker =
  | { readonly kind: 'photo-ready'; readonly key: string; readonly width: number; readonly height: number }
  | { readonly kind: 'photo-failed'; readonly key: string; readonly message: string }
  | {
      readonly kind: 'coarse';
      readonly id: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly strip: WireStrip;
      readonly tookMs: number;
    }
  | {
      readonly kind: 'started';
      readonly id: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
    }
  | { readonly kind: 'strip'; readonly id: string; readonly strip: WireStrip }
  | { readonly kind: 'progress'; readonly id: string; readonly share: number; readonly stage: string }
  | { readonly kind: 'done'; readonly id: string; readonly result: ProofResult }
  | { readonly kind: 'sure'; readonly id: string; readonly sure: HowSure }
  | { readonly kind: 'diagnosed'; readonly id: string; readonly diagnosis: Diagnosis; readonly tookMs: number }
  | {
      readonly kind: 'ground';
      readonly key: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly strips: readonly WireStrip[];
    }
  | { readonly kind: 'failed'; readonly id: string; readonly message: string }
  | { readonly kind: 'answer'; readonly ticket: number; readonly gets: Questions[QuestionName]['gets'] }
  | { readonly kind: 'answer-part'; readonly ticket: number; readonly part: PartOf<QuestionName> }
  | { readonly kind: 'no-answer'; readonly ticket: number; readonly message: string }
  | { readonly kind: 'answer-progress'; readonly ticket: number; readonly share: number; readonly stage: string };
