import type { RowsPromise } from '../promise.ts';

/** How far the time may be off: positions and feeds are rounded. */
const TIME_SHARE = 0.02;
const TIME_S = 1;

interface Move {
  readonly rapid: boolean;
  readonly fromX: number;
  readonly fromY: number;
  readonly toX: number;
  readonly toY: number;
  readonly feedMmPerS: number;
  readonly lit: boolean;
}

/** Counts the rows of a pass and takes the time from rest to rest between stops. */
export class RowWatch {
  readonly #promise: RowsPromise;
  #rows = 0;
  #timeS = 0;
  /** Time of the way to the next row, counted once there is one. */
  #waitingS = 0;
  #lastRow = Number.NaN;
  /** Length of the stretch at feed that is under way. */
  #lengthMm = 0;
  #feed = 0;

  constructor(promise: RowsPromise) {
    this.#promise = promise;
  }

  move({ rapid, fromX, fromY, toX, toY, feedMmPerS, lit }: Move): void {
    const [acrossX, acrossY] = this.#promise.across;
    const [dx, dy] = [toX - fromX, toY - fromY];
    const across = toX * acrossX + toY * acrossY;
    if (rapid) {
      this.stop();
      const down = Math.abs(dx * acrossX + dy * acrossY);
      const along = Math.abs(dx * acrossY - dy * acrossX);
      const { maxFeedMmPerS } = this.#promise;
      if (this.#rows > 0)
        this.#waitingS += Math.max(this.#travelS(down, maxFeedMmPerS), this.#travelS(along, maxFeedMmPerS));
      return;
    }
    this.#feed = feedMmPerS;
    this.#lengthMm += Math.hypot(dx, dy);
    if (!lit) return;
    if (Number.isNaN(this.#lastRow) || Math.abs(across - this.#lastRow) > this.#promise.pitchMm / 2) this.#rows++;
    this.#lastRow = across;
  }

  /** The head comes to rest. */
  stop(): void {
    if (this.#lengthMm === 0) return;
    if (this.#rows > 0) {
      this.#timeS += this.#waitingS + this.#travelS(this.#lengthMm, this.#feed);
      this.#waitingS = 0;
    }
    this.#lengthMm = 0;
  }

  /** Says what is wrong with the whole; null if nothing is. */
  finish(): string | null {
    const { count, timeS } = this.#promise;
    if (this.#rows !== count) return `${this.#rows} rows instead of ${count}`;
    if (Math.abs(this.#timeS - timeS) > TIME_SHARE * timeS + TIME_S)
      return `${this.#timeS.toFixed(1)} s of work instead of ${timeS.toFixed(1)} s`;
    return null;
  }

  /** From rest to rest. */
  #travelS(mm: number, feed: number): number {
    const acceleration = this.#promise.accelerationMmPerS2;
    const ramps = (feed * feed) / acceleration;
    return mm >= ramps ? mm / feed + feed / acceleration : 2 * Math.sqrt(mm / acceleration);
  }
}
