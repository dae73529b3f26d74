import type { Point } from '../../base/geometry/point.ts';
import { MM_PER_INCH, mmPerSToMmPerMin } from '../../base/units.ts';
import type { Control } from '../../piece/control-schema.ts';
import { plainComment } from './plain-comment.ts';

const CODE = { zero: 48, point: 46, minus: 45, newline: 10, F: 70, G: 71, S: 83, X: 88, Y: 89 } as const;
/** Room that one line of motion needs at most. */
const LINE_BYTES = 96;
const NEVER = Number.NaN;

/**
 * Writes lines of RS-274/NGC into bytes and leaves out what still holds from the lines before: motion word, positions, power. Power
 * belongs to moves: a move of no length lets out no light and changes no power, and before anything that stops the head the last move
 * must have been a dark one.
 */
export class ProgramWriter {
  readonly #control: Control;
  readonly #sDecimals: number;
  readonly #perMm: number;
  readonly #zero: Point;
  #bytes = new Uint8Array(1 << 17);
  #length = 0;
  #mode = -1;
  #x = NEVER;
  #y = NEVER;
  #s = NEVER;
  #feed: number | null = null;

  /** `zero`: the place on the bed that positions count from, mm. */
  constructor(control: Control, sDecimals: number, zero: Point) {
    this.#control = control;
    this.#sDecimals = sDecimals;
    this.#perMm = 10 ** control.decimals / (control.units === 'inch' ? MM_PER_INCH : 1);
    this.#zero = zero;
  }

  get length(): number {
    return this.#length;
  }

  /** What has been written since it was last taken. */
  take(): Uint8Array<ArrayBuffer> {
    const taken = this.#bytes.slice(0, this.#length);
    this.#length = 0;
    return taken;
  }

  /** A line of its own, for which the head may stop; printable ASCII only. @throws Error if it would stop with the beam on. */
  line(text: string): void {
    this.#mustBeDark();
    this.#reserve(text.length + 1);
    for (let i = 0; i < text.length; i++) this.#bytes[this.#length++] = text.charCodeAt(i);
    this.#bytes[this.#length++] = CODE.newline;
  }

  comment(text: string): void {
    this.line(`(${plainComment(text)})`);
  }

  /** Allows the beam, at no power. What comes before it must have set S0 with a motion, unless S0 may stand here. */
  allowBeam(): void {
    const word = this.#control.beam === 'holds-power' ? 'M3' : 'M4';
    this.line(this.#control.powerAtRest ? `${word} S0` : word);
    this.#s = 0;
  }

  /** The feed of what follows, mm/s; rounded down. */
  feed(mmPerS: number): void {
    const inch = this.#control.units === 'inch';
    this.#feed = Math.floor((mmPerSToMmPerMin(mmPerS) / (inch ? MM_PER_INCH : 1)) * (inch ? 1000 : 10) + 1e-6);
  }

  /** To a place on the bed, mm, as fast as the machine can, without beam. @throws Error if the head would stop with the beam on. */
  rapid(xMm: number, yMm: number): void {
    this.#mustBeDark();
    this.#move(0, xMm, yMm, 0);
  }

  /** To a place on the bed, mm, at the feed, with so many steps of power. */
  travel(xMm: number, yMm: number, steps: number): void {
    this.#move(1, xMm, yMm, steps);
  }

  #mustBeDark(): void {
    if (this.#s > 0) throw new Error('the head would stop with the beam on');
  }

  #move(mode: number, xMm: number, yMm: number, steps: number): void {
    const x = Math.round((xMm - this.#zero[0]) * this.#perMm);
    const y = Math.round((yMm - this.#zero[1]) * this.#perMm);
    if (x === this.#x && y === this.#y) return;
    this.#reserve(LINE_BYTES);
    if (mode !== this.#mode) {
      this.#bytes[this.#length++] = CODE.G;
      this.#bytes[this.#length++] = CODE.zero + mode;
    }
    const { decimals } = this.#control;
    if (x !== this.#x) this.#word(CODE.X, x, decimals);
    if (y !== this.#y) this.#word(CODE.Y, y, decimals);
    if (mode === 1 && this.#feed !== null) {
      this.#word(CODE.F, this.#feed, this.#control.units === 'inch' ? 3 : 1);
      this.#feed = null;
    }
    if (steps !== this.#s) {
      this.#word(CODE.S, steps, this.#sDecimals);
      this.#s = steps;
    }
    this.#bytes[this.#length++] = CODE.newline;
    this.#mode = mode;
    this.#x = x;
    this.#y = y;
  }

  /** A letter and `value · 10^−decimals` without needless zeros. */
  #word(letter: number, value: number, decimals: number): void {
    const bytes = this.#bytes;
    bytes[this.#length++] = letter;
    if (value < 0) bytes[this.#length++] = CODE.minus;
    let rest = Math.abs(value);
    let places = decimals;
    while (places > 0 && rest % 10 === 0) {
      rest /= 10;
      places--;
    }
    let digits = places + 1;
    for (let power = 10 ** digits; rest >= power; power *= 10) digits++;
    let at = this.#length + digits + (places > 0 ? 1 : 0);
    this.#length = at;
    for (let i = 0; i < digits; i++) {
      if (i === places && places > 0) bytes[--at] = CODE.point;
      const tenth = Math.floor(rest / 10);
      bytes[--at] = CODE.zero + rest - 10 * tenth;
      rest = tenth;
    }
  }

  #reserve(bytes: number): void {
    if (this.#length + bytes <= this.#bytes.length) return;
    const larger = new Uint8Array(2 * this.#bytes.length + bytes);
    larger.set(this.#bytes.subarray(0, this.#length));
    this.#bytes = larger;
  }
}
