import { Cancelled } from '../../base/cancelled.ts';

/** Asked between bands of rows; `true` cancels. */
export type ShouldStop = () => boolean;

const BAND_ROWS = 64;

/** Asks on the first row of every band. @throws Cancelled if told to stop. */
export function askAtBand(shouldStop: ShouldStop | undefined, row: number): void {
  if (shouldStop && row % BAND_ROWS === 0 && shouldStop()) throw new Cancelled();
}
