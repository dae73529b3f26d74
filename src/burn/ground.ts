import { Cancelled } from '../base/cancelled.ts';
import type { AppearanceTable } from '../physics/material/appearance.ts';
import type { Piece } from '../piece/schema.ts';
import { filmOf, planJob } from './plan.ts';
import { lookOf } from './proof.ts';
import type { StripRunner } from './runner.ts';
import { soundStrip } from './sound-strip.ts';
import type { StripResult } from './strip-task.ts';

/** Cells along the longer side of the unburned slab, and their least size, mm. */
const LONGEST_CELLS = 1400;
const FINEST_MM = 0.2;
const STRIP_ROWS = 32;

export interface GroundGrid {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
}

/** Grid of square cells over the slab's bounding box, centred on it. */
export function groundGrid({ slab }: Piece): GroundGrid {
  const pitchMm = Math.max(FINEST_MM, Math.max(slab.widthMm, slab.heightMm) / LONGEST_CELLS);
  return { width: Math.ceil(slab.widthMm / pitchMm), height: Math.ceil(slab.heightMm / pitchMm), pitchMm };
}

/** What decides how the unburned slab looks; how it answers the beam does not. */
export const groundKey = ({ slab, stack }: Piece): string =>
  JSON.stringify([slab, stack.film, stack.coats.map((coat) => [lookOf(coat), filmOf(coat)])]);

/**
 * The whole slab before anything is burned, at screen size: colour with the share that is painted as alpha, and relief.
 * Strips come in the order in which they are done.
 * @throws Cancelled if told to stop.
 */
export async function layGround(
  piece: Piece,
  appearance: AppearanceTable,
  runner: StripRunner,
  onStrip: (strip: StripResult) => void,
  shouldStop: () => boolean = () => false,
): Promise<void> {
  const grid = groundGrid(piece);
  const centred = { ...piece, picture: { ...piece.picture, offsetXMm: 0, offsetYMm: 0 }, passes: [] };
  const cells = { ...grid, subX: 1, subY: 1 };
  const job = {
    ...planJob(centred, appearance, cells, null, { surface: true, fields: false, painted: true }),
    filmKey: '',
  };
  runner.start(job);
  let next = 0;
  const lane = async (): Promise<void> => {
    while (next < grid.height) {
      if (shouldStop()) throw new Cancelled();
      const y0 = next;
      const rows = Math.min(STRIP_ROWS, grid.height - y0);
      next += rows;
      onStrip(
        soundStrip(await runner.run({ jobId: job.id, y0, rows, windows: [], aim: new Uint8Array(grid.width * rows) })),
      );
    }
  };
  await Promise.all(Array.from({ length: runner.lanes }, lane));
}
