import type { RowSpans } from './spans.ts';
/**
 * The raster of one pass: columns along the rows' heading, rows in the order in which they are burned.
 * Heading 0 runs left to right with the first row at the far edge; the heading turns counter-clockwise as seen from above.
 * Raster place (u, v) in dots, dot (c, r) covering c … c + 1; picture place (x, y) in mm from the picture's far left corner.
 */
export interface PassRaster {
  readonly columns: number;
  readonly rows: number;
  readonly pitchMm: number;
  readonly headingRad: number;
  /** u = column[0] + column[1]·xMm + column[2]·yMm. */
  readonly column: readonly [number, number, number];
  readonly row: readonly [number, number, number];
}

/** Snaps what is a multiple of 90° but for rounding, so that straight headings stay exact. */
function unitVector(headingRad: number): { cosine: number; sine: number } {
  const snap = (value: number) => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);
  return { cosine: snap(Math.cos(headingRad)), sine: snap(Math.sin(headingRad)) };
}

/**
 * Raster that covers a picture of the given size.
 * @throws RangeError if a size or the pitch is not positive.
 */
export function createPassRaster(widthMm: number, heightMm: number, pitchMm: number, headingRad: number): PassRaster {
  if (!(widthMm > 0 && heightMm > 0 && pitchMm > 0)) {
    throw new RangeError(`a raster needs positive sizes, got ${widthMm} × ${heightMm} mm at ${pitchMm} mm`);
  }
  const { cosine, sine } = unitVector(headingRad);
  const count = (lengthMm: number) => Math.max(1, Math.round(lengthMm / pitchMm));
  const columns = count(widthMm * Math.abs(cosine) + heightMm * Math.abs(sine));
  const rows = count(widthMm * Math.abs(sine) + heightMm * Math.abs(cosine));
  const perX = [cosine / pitchMm, sine / pitchMm];
  const perY = [-sine / pitchMm, cosine / pitchMm];
  return {
    columns,
    rows,
    pitchMm,
    headingRad,
    column: [columns / 2 - (perX[0] * widthMm + perY[0] * heightMm) / 2, perX[0], perY[0]],
    row: [rows / 2 - (perX[1] * widthMm + perY[1] * heightMm) / 2, perX[1], perY[1]],
  };
}

/** A pass's screened raster with what its rows travel. */
export interface ScreenedPass {
  readonly raster: PassRaster;
  readonly levels: Uint8Array;
  readonly mask: Uint8Array;
  readonly spans: RowSpans;
}
