import type { Side } from '../../core/image/mask/flood-seeds.ts';
import type { BrushStroke, Piece } from '../../core/piece/schema.ts';
import type { MaskSaving } from './mask-saving.ts';

export type MaskQuestion =
  | {
      readonly kind: 'background';
      readonly width: number;
      readonly height: number;
      readonly rgba: Uint8ClampedArray;
      /** Difference of colour, ΔE*ab. */
      readonly tolerance: number;
      readonly from: readonly Side[];
      readonly softDots: number;
      readonly mostStrokes: number;
    }
  | { readonly kind: 'saving'; readonly piece: Piece; readonly photo: { width: number; height: number } };

export interface MaskAnswers {
  background: {
    readonly strokes: BrushStroke[];
    /** Share of the picture. */
    readonly removed: number;
    readonly finestDots: number;
    readonly coarser: boolean;
  };
  saving: MaskSaving;
}

export type ToMaskWorker = MaskQuestion & { readonly ticket: number };
export type FromMaskWorker =
  | { readonly kind: 'answer'; readonly ticket: number; readonly answer: MaskAnswers[keyof MaskAnswers] }
  | { readonly kind: 'failed'; readonly ticket: number; readonly message: string };
