import { findSpans, type RowSpans } from './spans.ts';

/**
 * The rows of a mask, from their first to their last dot that is not 0, whatever the picture shows there. What a pass over them takes
 * less than over the full rectangle is what the mask saves: holes inside a row save nothing.
 * Test: closed form and common practice (test/unit/mask-saved-time.test.ts).
 */
export const maskSpans = (mask: Uint8Array, columns: number, rows: number, twoWay: boolean): RowSpans =>
  findSpans(mask, mask, columns, rows, () => true, twoWay);
