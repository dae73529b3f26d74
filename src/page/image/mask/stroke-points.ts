export type StrokePoint = [x: number, y: number];

/** What a piece keeps at most: the schema's limits, and points so few that the piece stays small. */
export const MOST_STROKES = 1000;

/** Points of one stroke. */
export const MOST_POINTS = 200;

/** A line in parts of as many points as one stroke keeps, each beginning where the one before ended; one point is a part, too. */
export function splitPoints(points: readonly StrokePoint[]): StrokePoint[][] {
  const parts: StrokePoint[][] = [points.slice(0, MOST_POINTS)];
  for (let from = MOST_POINTS - 1; from < points.length - 1; from += MOST_POINTS - 1) {
    parts.push(points.slice(from, from + MOST_POINTS));
  }
  return parts;
}
