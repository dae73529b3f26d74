import type { Defect } from '../../core/slab/defects.ts';
import type { Point, Polygon } from '../../core/slab/point.ts';
import type { BoundsMm } from '../../core/slab/polygon.ts';
import type { Quarters } from '../../core/slab/quarter-turn.ts';
import type { Marks } from '../../core/slab/scale.ts';
import type { Face, RimReading } from './draft.ts';

/** What the dialog asks of its worker; each answer carries the ticket of its question. */
export type SlabQuestion =
  | { readonly kind: 'open'; readonly file: File }
  | { readonly kind: 'find'; readonly file: File; readonly marks: Marks; readonly k1: number; readonly faceId: number }
  /** Reads the rim of a face anew; the outline as the face was found, without its turns. */
  | { readonly kind: 'rim'; readonly faceId: number; readonly outline: Polygon }
  /** The picture to keep with the slab; the outline likewise. */
  | {
      readonly kind: 'keep';
      readonly file: File;
      readonly marks: Marks;
      readonly k1: number;
      readonly outline: Polygon;
      readonly shift: Point;
      readonly quarters: Quarters;
    }
  | { readonly kind: 'paste'; readonly text: string };

export interface SlabAnswers {
  readonly open: { readonly bitmap: ImageBitmap };
  readonly find: {
    readonly outline: Polygon;
    readonly face: Face;
    readonly rim: RimReading;
    readonly defects: readonly Defect[];
    readonly notes: readonly string[];
  };
  readonly rim: RimReading;
  /** A JPEG, and its place in the turned frame. */
  readonly keep: { readonly jpeg: Uint8Array; readonly box: BoundsMm };
  readonly paste: { readonly outline: Polygon; readonly notes: readonly string[] };
}

export type ToSlabWorker = SlabQuestion & { readonly ticket: number };
export type FromSlabWorker = { readonly ticket: number } & (
  | { readonly kind: 'progress'; readonly words: string }
  | { readonly kind: 'answer'; readonly answer: SlabAnswers[keyof SlabAnswers] }
  | { readonly kind: 'failed'; readonly message: string }
);
