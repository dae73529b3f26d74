import type { Picture } from '../image/picture.ts';
import { exposeScene } from './expose.ts';
import { finishPrint } from './finish.ts';

export interface DemoOptions {
  /** Pixels. */
  readonly width: number;
  /** Pixels; without it, the height that gives the picture its aspect of 276 : 216. */
  readonly height?: number;
  /** Called after each row; `false` stops the work. */
  readonly onRow?: (row: number, rows: number) => unknown;
}

/** Aspect of the picture: that of the oval the demo piece burns. */
const ASPECT = 276 / 216;

/**
 * The demo photograph "Hollin Reach": rendered, so it belongs to the project and can be made at any size. The same size always
 * gives the same bytes, and other sizes show the same picture.
 * @throws RangeError if a side is not a whole number ≥ 1. @throws Cancelled if `onRow` answers `false`.
 */
export function renderDemo({ width, height = Math.max(1, Math.round(width / ASPECT)), onRow }: DemoOptions): Picture {
  if (!Number.isSafeInteger(width) || !Number.isSafeInteger(height) || width < 1 || height < 1) {
    throw new RangeError(`a picture has whole sides of at least 1 pixel, got ${width} × ${height}`);
  }
  const luminance = finishPrint(exposeScene(width, height, onRow), width, height);
  return { width, height, luminance, alpha: null };
}
