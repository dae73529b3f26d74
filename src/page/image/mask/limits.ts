/** What a piece keeps at most: the schema's limits, and points so few that the piece stays small. */
export const MOST_STROKES = 1000;
/** Points of one stroke. */
export const MOST_POINTS = 200;
/** What taking the background away may use: the rest is left to the brush. */
export const BACKGROUND_STROKES = 500;
export const BACKGROUND_POINTS = 12_000;
