import type { ProofSummary } from '../../../burn/statistics.ts';
import type { PassTime } from '../../../physics/raster/pass-time.ts';
import type { Diagnosis } from '../../../studies/diagnose/diagnose.ts';
import type { HowSure } from '../../../studies/sure/how-sure.ts';

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

/** What is known of a proof on the way to all of it. */
export type ProofPart =
  /** The quick look, and the time it took the worker. */
  | {
      readonly kind: 'coarse';
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly strip: WireStrip;
      readonly tookMs: number;
    }
  /** Strips of this size follow. */
  | { readonly kind: 'started'; readonly width: number; readonly height: number; readonly pitchMm: number }
  | { readonly kind: 'strip'; readonly strip: WireStrip }
  | { readonly kind: 'done'; readonly result: ProofResult }
  | { readonly kind: 'sure'; readonly sure: HowSure }
  | { readonly kind: 'diagnosed'; readonly diagnosis: Diagnosis; readonly tookMs: number }
  | {
      readonly kind: 'ground';
      readonly key: string;
      readonly width: number;
      readonly height: number;
      readonly pitchMm: number;
      readonly strips: readonly WireStrip[];
    };
