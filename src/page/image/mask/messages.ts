import type { HealStroke, PictureMatte, Piece, Tiles } from '../../../piece/schema.ts';
import type { MaskSaving } from './mask-saving.ts';

/** What the dialog asks of its worker. */
export interface MaskQuestions {
  /** What stays of a whole photograph, by marks on it. */
  readonly background: {
    readonly asks: {
      readonly width: number;
      readonly height: number;
      readonly rgba: Uint8ClampedArray;
      readonly marks: PictureMatte['marks'];
    };
    readonly gets: Tiles;
  };
  /** The photograph in grey, RGBA, healed. */
  readonly heal: {
    readonly asks: {
      readonly width: number;
      readonly height: number;
      readonly rgba: Uint8ClampedArray;
      readonly heals: readonly HealStroke[];
    };
    readonly gets: Uint8ClampedArray;
  };
  readonly saving: {
    readonly asks: { readonly piece: Piece; readonly photo: { width: number; height: number } };
    readonly gets: MaskSaving;
  };
}
