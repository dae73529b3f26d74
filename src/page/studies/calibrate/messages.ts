import type { Lab } from '../../../base/color/lab.ts';
import type { Point } from '../../../base/geometry/outline.ts';
import type { Piece } from '../../../piece/schema.ts';
import type { Drift } from '../../../studies/calibrate/drift.ts';
import type { CardFit } from '../../../studies/calibrate/fit-card.ts';
import type { Card, CardKind } from '../../../vision/card/card.ts';
import type { CardWish } from '../../../vision/card/make-card.ts';
import type { CardReading } from '../../../vision/card/reading.ts';
import type { ScrapJobAnswer } from '../../burn/worker/scrap-job.ts';

/** How a card comes out by a piece's numbers. */
export interface CardLooks {
  readonly paint: Lab;
  readonly bare: Lab;
  readonly marks: Lab;
  readonly patches: Readonly<Record<string, Lab>>;
  /** Widths of lines as an eye sees them, and as if wholly cleared, mm. */
  readonly lines: Readonly<Record<string, { readonly edgeMm: number; readonly equivalentMm: number }>>;
}

export interface CardWorth {
  readonly kind: CardKind;
  /** Share of the likely error of the picture's tones that stays, 0–1. */
  readonly keeps: number;
}

export interface ReadTogether {
  readonly card: Card;
  readonly reading: CardReading;
}

/** What is asked of a worker, each with one of its own. */
export interface CalibrateQuestions {
  readonly propose: {
    readonly asks: { readonly piece: Piece; readonly widthMm: number; readonly heightMm: number };
    /** The one that tells most first. */
    readonly gets: readonly CardWorth[];
  };
  readonly card: {
    readonly asks: { readonly piece: Piece; readonly kind: CardKind; readonly wish: CardWish };
    readonly gets: { readonly card: Card; readonly looks: CardLooks };
  };
  readonly looks: {
    readonly asks: { readonly piece: Piece; readonly card: Card };
    readonly gets: CardLooks;
  };
  /** The burn job as an archive. */
  readonly job: {
    readonly asks: { readonly piece: Piece; readonly card: Card };
    readonly gets: ScrapJobAnswer;
  };
  /** The card as a piece with its picture. */
  readonly piece: {
    readonly asks: { readonly piece: Piece; readonly card: Card };
    readonly gets: Uint8Array;
  };
  readonly open: { readonly asks: { readonly file: File }; readonly gets: { readonly bitmap: ImageBitmap } };
  readonly read: {
    readonly asks: {
      readonly file: File;
      readonly card: Card;
      readonly piece: Piece;
      /** Colour of a chip on the reference place. */
      readonly chip: Lab | null;
      readonly corners: readonly Point[] | null;
    };
    readonly gets: {
      readonly reading: CardReading;
      readonly marksPx: readonly Point[];
      readonly sharpness: number;
      readonly warning: string | null;
    };
  };
  readonly fit: {
    readonly asks: { readonly piece: Piece; readonly read: readonly ReadTogether[]; readonly known: readonly string[] };
    readonly gets: CardFit;
  };
  readonly drift: {
    readonly asks: { readonly piece: Piece } & ReadTogether;
    readonly gets: Drift;
  };
}
export type CalibrateName = keyof CalibrateQuestions;
