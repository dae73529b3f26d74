import { heatShare } from '../../physics/heat/heat-share.ts';
import { type AppearanceTable, buildAppearance } from '../../physics/material/appearance.ts';
import { plainSlab } from '../../piece/defaults.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Card, CardBurn, CardPatch } from '../../vision/card/card.ts';
import { type LineState, predictLine } from './predict-line.ts';
import { type PatchState, predictPatch } from './predict-patch.ts';
import { type ToneColors, toneColors } from './tone-colors.ts';

/** Film that is thicker to one side: share more per half of the card's width and height. */
export interface FilmTilt {
  readonly x: number;
  readonly y: number;
}
export const NO_TILT: FilmTilt = { x: 0, y: 0 };

/** Says what patches and lines of a card come out as, for one piece after another; what they share is made once. */
export interface CardOracle {
  patch(piece: Piece, patch: Pick<CardPatch, 'burns' | 'warmthPerShareK'>, filmFactor?: number): PatchState;
  line(piece: Piece, burn: CardBurn, filmFactor?: number): LineState;
}

/** Middle of a patch or line from the card's middle, in halves of its size: −1 … 1. */
export function placeOnCard(card: Card, box: CardPatch['box']): FilmTilt {
  return {
    x: (box.xMm + box.widthMm / 2) / (card.widthMm / 2) - 1,
    y: (box.yMm + box.heightMm / 2) / (card.heightMm / 2) - 1,
  };
}

export const filmAt = (card: Card, box: CardPatch['box'], tilt: FilmTilt): number => {
  const { x, y } = placeOnCard(card, box);
  return Math.exp(tilt.x * x + tilt.y * y);
};

/**
 * @param base the piece whose colours below the top coat serve for all that are asked about.
 */
export function createCardOracle(base: Piece): CardOracle {
  let table: AppearanceTable | null = null;
  // Takes a while, and few patches ever burn through.
  const below = () => {
    table ??= buildAppearance(base.stack, base.slab.wood, base.machine.airFlow);
    return table;
  };
  let asked: { piece: Piece; plain: Piece; colors: ToneColors } | null = null;
  const about = (piece: Piece) => {
    if (asked?.piece !== piece) {
      const plain = { ...piece, slab: { ...plainSlab(piece.slab), bowMm: 0, domeMm: 0 } };
      asked = { piece, plain, colors: toneColors(plain) };
    }
    return asked;
  };
  return {
    patch(piece, { burns, warmthPerShareK }, filmFactor = 1) {
      const { plain, colors } = about(piece);
      // Fine unevenness is part of a patch's mean: three places of a normal distribution (Gauss and Hermite).
      const fine = Math.sqrt(3) * plain.stack.coats[0].fineVariation;
      const films: [number, number][] =
        fine > 0
          ? [
              [filmFactor * Math.max(0, 1 - fine), 1 / 6],
              [filmFactor, 2 / 3],
              [filmFactor * (1 + fine), 1 / 6],
            ]
          : [[filmFactor, 1]];
      const share = plain.heat.carryOver ? heatShare(plain.heat, plain.stack.coats[0]) : 0;
      return predictPatch(
        plain,
        burns,
        colors,
        below,
        films,
        warmthPerShareK.map((warmth) => share * warmth),
      );
    },
    line(piece, burn, filmFactor = 1) {
      const { plain, colors } = about(piece);
      return predictLine(plain, burn, colors, filmFactor);
    },
  };
}
