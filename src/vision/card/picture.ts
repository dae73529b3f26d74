import { lightnessToLuminance } from '../../image/lightness.ts';
import type { Picture } from '../../image/picture.ts';
import {
  type Card,
  type CardBox,
  codeBits,
  codeBox,
  MARK_INSIDE_MM,
  MARK_MIDDLE_MM,
  MARK_MM,
  markCentres,
} from './card.ts';

const LABEL_HEIGHT_MM = 2;

/** Of a label's strokes; wide enough to survive a coarse row pitch. */
const STROKE_MM = 0.3;

/** Where the label of a patch or line stands, strokes and all. */
export function labelBox(text: string, box: CardBox): CardBox {
  const size = { widthMm: digitsWidth(text, LABEL_HEIGHT_MM) + STROKE_MM, heightMm: LABEL_HEIGHT_MM + STROKE_MM };
  if (box.heightMm === 0) return { xMm: box.xMm + box.widthMm + 1, yMm: box.yMm - LABEL_HEIGHT_MM / 2, ...size };
  return { xMm: box.xMm, yMm: box.yMm + box.heightMm + (box.widthMm === 0 ? 1 : 0.5), ...size };
}

/** Teeth of the vernier: forward strokes in the upper half, backward ones in the lower; middles along the row, mm. */
export function vernierTeeth({ box, teeth, pitchMm, stepMm }: NonNullable<Card['vernier']>) {
  const middle = box.xMm + box.widthMm / 2;
  return Array.from({ length: teeth }, (_, i) => {
    const k = i - (teeth - 1) / 2;
    return { forwardMm: middle + k * pitchMm, backwardMm: middle + k * (pitchMm + stepMm) };
  });
}

/**
 * The card as the picture of its job: lightness per dot at the card's pitch, so that every dot gets the power that its patch asks for.
 * One dot is one row's height, so a lone line is one row of dots.
 */
export function cardPicture(card: Card): Picture {
  const { pitchMm } = card;
  const width = Math.round(card.widthMm / pitchMm);
  const height = Math.round(card.heightMm / pitchMm);
  const luminance = new Float32Array(width * height);
  const dot = (mm: number) => Math.round(mm / pitchMm);
  const fill = ({ xMm, yMm, widthMm, heightMm }: CardBox, lightness: number): void => {
    const value = lightnessToLuminance(lightness);
    const right = Math.min(width, Math.max(dot(xMm + widthMm), dot(xMm) + 1));
    const bottom = Math.min(height, Math.max(dot(yMm + heightMm), dot(yMm) + 1));
    for (let y = dot(yMm); y < bottom; y++) luminance.fill(value, y * width + dot(xMm), y * width + right);
  };
  const square = (x: number, y: number, side: number, lightness: number) =>
    fill({ xMm: x - side / 2, yMm: y - side / 2, widthMm: side, heightMm: side }, lightness);
  const stroke = ([x0, y0, x1, y1]: Stroke) =>
    fill(
      {
        xMm: Math.min(x0, x1) - STROKE_MM / 2,
        yMm: Math.min(y0, y1) - STROKE_MM / 2,
        widthMm: Math.abs(x1 - x0) + STROKE_MM,
        heightMm: Math.abs(y1 - y0) + STROKE_MM,
      },
      1,
    );

  for (const [x, y] of markCentres(card)) {
    square(x, y, MARK_MM, 1);
    square(x, y, MARK_INSIDE_MM, 0);
    square(x, y, MARK_MIDDLE_MM, 1);
  }
  codeBits(card.kind, card.id).forEach((bit, i) => {
    if (bit) fill(codeBox(card, i), 1);
  });
  // Slanted strokes of a digit (one in the seven) fill their box's diagonal by short steps.
  const label = (text: string, box: CardBox) => {
    const at = labelBox(text, box);
    const half = STROKE_MM / 2;
    for (const [x0, y0, x1, y1] of digitStrokes(text, at.xMm + half, at.yMm + half, LABEL_HEIGHT_MM)) {
      const steps = x0 !== x1 && y0 !== y1 ? 12 : 1;
      for (let k = 0; k < steps; k++) {
        const [from, to] = [k / steps, (k + 1) / steps];
        stroke([
          x0 + (x1 - x0) * from,
          y0 + (y1 - y0) * from,
          x0 + (x1 - x0) * (steps > 1 ? from : to),
          y0 + (y1 - y0) * to,
        ]);
      }
    }
  };
  for (const { box, burns, label: text } of card.patches) {
    fill(box, burns[burns.length - 1].lightness);
    label(text, box);
  }
  for (const { box, burn, label: text } of card.lines) {
    fill(box, burn.lightness);
    label(text, box);
  }
  if (card.vernier) drawVernier(card.vernier);
  return { width, height, luminance, alpha: null };

  /** Rows alternate their direction as they are travelled, so every row of the vernier has at least its keeper at the left. */
  function drawVernier(vernier: NonNullable<Card['vernier']>): void {
    const { box } = vernier;
    const rows = dot(box.yMm + box.heightMm) - dot(box.yMm);
    for (let r = 0; r < rows; r++) {
      const upper = r < rows / 2;
      const forward = r % 2 === 0;
      const row = { yMm: (dot(box.yMm) + r) * pitchMm, heightMm: 0 };
      if (upper === forward) {
        for (const { forwardMm, backwardMm } of vernierTeeth(vernier)) {
          fill({ ...row, xMm: (forward ? forwardMm : backwardMm) - 0.15, widthMm: 0.3 }, 1);
        }
      } else fill({ ...row, xMm: box.xMm, widthMm: 0.3 }, 1);
    }
  }
}

/** Digits as strokes on a grid of 2 × 4 (x to the right, y down); each stroke is a polyline. Our own drawing. */
const STROKES: Readonly<Record<string, readonly (readonly number[])[]>> = {
  '0': [[0, 0, 2, 0, 2, 4, 0, 4, 0, 0]],
  '1': [[0, 1, 1, 0, 1, 4]],
  '2': [[0, 0, 2, 0, 2, 2, 0, 2, 0, 4, 2, 4]],
  '3': [
    [0, 0, 2, 0, 2, 4, 0, 4],
    [0, 2, 2, 2],
  ],
  '4': [
    [0, 0, 0, 2, 2, 2],
    [2, 0, 2, 4],
  ],
  '5': [[2, 0, 0, 0, 0, 2, 2, 2, 2, 4, 0, 4]],
  '6': [[2, 0, 0, 0, 0, 4, 2, 4, 2, 2, 0, 2]],
  '7': [[0, 0, 2, 0, 1, 4]],
  '8': [
    [0, 0, 2, 0, 2, 4, 0, 4, 0, 0],
    [0, 2, 2, 2],
  ],
  '9': [[2, 2, 0, 2, 0, 0, 2, 0, 2, 4, 0, 4]],
  '.': [[1, 3.8, 1, 4]],
  '-': [[0, 2, 2, 2]],
};

/** A straight stroke, mm. */
type Stroke = readonly [x0: number, y0: number, x1: number, y1: number];

/** Distance between the middles of the outermost strokes of a number, mm. */
const digitsWidth = (text: string, heightMm: number): number => (heightMm / 4) * (3 * text.length - 1);

/** Strokes of a number written at a place, so many mm high; characters without a drawing leave a gap. */
export function digitStrokes(text: string, xMm: number, yMm: number, heightMm: number): Stroke[] {
  const unit = heightMm / 4;
  const strokes: Stroke[] = [];
  [...text].forEach((character, i) => {
    const left = xMm + 3 * unit * i;
    for (const line of STROKES[character] ?? []) {
      for (let k = 0; k + 3 < line.length; k += 2) {
        strokes.push([
          left + unit * line[k],
          yMm + unit * line[k + 1],
          left + unit * line[k + 2],
          yMm + unit * line[k + 3],
        ]);
      }
    }
  });
  return strokes;
}
