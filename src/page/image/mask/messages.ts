import type { Side } from '../../../image/mask/flood.ts';
import type { BrushStroke, HealStroke, Piece } from '../../../piece/schema.ts';
import type { MaskSaving } from './mask-saving.ts';

/** What the dialog asks of its worker. */
export interface MaskQuestions {
  readonly background: {
    readonly asks: {
      readonly width: number;
      readonly height: number;
      readonly rgba: Uint8ClampedArray;
      /** Difference of colour, ΔE*ab. */
      readonly tolerance: number;
      readonly from: readonly Side[];
      readonly softDots: number;
      readonly mostStrokes: number;
    };
    readonly gets: {
      readonly strokes: BrushStroke[];
      /** Share of the picture. */
      readonly removed: number;
      readonly finestDots: number;
      readonly coarser: boolean;
    };
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
