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
export type Stroke = readonly [x0: number, y0: number, x1: number, y1: number];

/** Distance between the middles of the outermost strokes of a number, mm. */
export const digitsWidth = (text: string, heightMm: number): number => (heightMm / 4) * (3 * text.length - 1);

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
