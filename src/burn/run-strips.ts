import { Cancelled } from '../base/cancelled.ts';
import type { ToneImage } from '../image/picture.ts';
import type { ScreenedPass } from '../physics/raster/pass-raster.ts';
import { LIGHT_AREA_LIGHTNESS } from './clearing.ts';
import { haloOf } from './plan.ts';
import type { StripRunner } from './runner.ts';
import { soundStrip } from './sound-strip.ts';
import type { StripJob, StripResult } from './strip-task.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow } from './windows.ts';

/** All that is to be burned of a picture, or of a part of it. */
export interface StripWork {
  readonly job: StripJob;
  /** The cells to burn; where they are a part of the picture, `firstX` and `firstY` say which. */
  readonly grid: CellGrid;
  readonly screened: readonly ScreenedPass[];
  /** The whole picture as the first pass burns it. */
  readonly tone: ToneImage;
  readonly lightens: boolean;
  /** Cell rows per strip. */
  readonly stripRows: number;
}

export interface StripHooks {
  readonly shouldStop: () => boolean;
  /** Strips in the order in which they are done. */
  readonly onStrip?: (strip: StripResult) => void;
  readonly onShare?: (share: number) => void;
}

/** Sends the strips through the runner, as many at a time as it has lanes for. @throws Cancelled; RangeError from `soundStrip`. */
export async function runStrips(runner: StripRunner, work: StripWork, hooks: StripHooks): Promise<void> {
  const { job, grid, screened, stripRows } = work;
  runner.start(job);
  const count = Math.ceil(grid.height / stripRows);
  let next = 0;
  let done = 0;
  const lane = async (): Promise<void> => {
    while (next < count) {
      if (hooks.shouldStop()) throw new Cancelled();
      const y0 = next * stripRows;
      next++;
      const rows = Math.min(stripRows, grid.height - y0);
      const windows = screened.map((pass, i) => {
        const halo = haloOf(job.passes[i]);
        return cutWindow(pass, grid, y0, rows, halo.rows, halo.columns);
      });
      const result = soundStrip(await runner.run({ jobId: job.id, y0, rows, windows, aim: aimOf(work, y0, rows) }));
      if (hooks.shouldStop()) throw new Cancelled();
      done++;
      hooks.onStrip?.(result);
      hooks.onShare?.(done / count);
    }
  };
  await Promise.all(Array.from({ length: runner.lanes }, lane));
}

/** 1 in the picture, 2 where it is light and some pass burns its dot at the light end, so that the coat is meant to be gone. */
function aimOf({ tone, screened, grid, lightens }: StripWork, y0: number, rows: number): Uint8Array {
  const { firstX = 0, firstY = 0 } = grid;
  const aim = new Uint8Array(grid.width * rows);
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < grid.width; x++) {
      const at = (firstY + y0 + y) * tone.width + firstX + x;
      if (tone.mask[at] === 0) continue;
      const light = lightens && tone.lightness[at] >= LIGHT_AREA_LIGHTNESS;
      aim[y * grid.width + x] = light && burnsAtLightEnd(screened, grid, x, y0 + y) ? 2 : 1;
    }
  }
  return aim;
}
