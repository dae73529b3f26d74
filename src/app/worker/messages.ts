import type { Piece } from '../../core/piece/schema.ts';
import type { PassTime } from '../../core/raster/pass-time.ts';
import type { FittedTones, ToneIntent } from '../../sim/fit-tones.ts';
import type { HowSure } from '../../sim/how-sure.ts';
import type { ProofSummary } from '../../sim/statistics.ts';

/** What the page asks of the proof worker. Ids and keys are the page's own. */
export type ToProofWorker =
  | { readonly kind: 'photo'; readonly key: string; readonly bytes: Uint8Array }
  | { readonly kind: 'proof'; readonly id: string; readonly piece: Piece; readonly photoKey: string }
  | { readonly kind: 'cancel' }
  | { readonly kind: 'probe'; readonly ticket: number; readonly id: string; readonly xMm: number; readonly yMm: number }
  | { readonly kind: 'picture'; readonly ticket: number; readonly id: string; readonly which: PictureKind }
  | {
      readonly kind: 'fit-tones';
      readonly ticket: number;
      readonly piece: Piece;
      readonly photoKey: string;
      readonly intent: ToneIntent;
    }
  | { readonly kind: 'prepared'; readonly ticket: number; readonly piece: Piece; readonly photoKey: string }
  | { readonly kind: 'forget'; readonly id: string };

export type PictureKind = 'proof' | 'uncleared';

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

/** What lies under the pointer. */
export interface ProbeReading {
  readonly residueUm: readonly number[];
  readonly woodDepthUm: number;
  readonly excessJPerMm2: number;
  readonly colorSrgb: readonly [number, number, number];
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
  | { readonly kind: 'sure'; readonly id: string; readonly sure: HowSure; readonly detailLost: number }
  | {
      readonly kind: 'ground';
      readonly key: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly strips: readonly WireStrip[];
    }
  | { readonly kind: 'failed'; readonly id: string; readonly message: string }
  | { readonly kind: 'reading'; readonly ticket: number; readonly reading: ProbeReading | null }
  | { readonly kind: 'picture'; readonly ticket: number; readonly png: Uint8Array | null }
  | {
      readonly kind: 'tones';
      readonly ticket: number;
      readonly fitted: FittedTones | null;
      /** Places of the photo by lightness, in even bins from black to white. */
      readonly histogram: readonly number[];
    };
