import type { ProgramPromise } from '../promise.ts';
import type { BedBox } from '../travel-box.ts';
import { LineReader, type ProgramLine } from './line-reader.ts';
import { ProgramFault } from './program-fault.ts';
import { RowWatch } from './row-watch.ts';
import { Stretch } from './stretch.ts';

const MM_PER_INCH = 25.4;
const SLACK = 1e-6;
/** Codes times ten. G61, G61.1, G64 (path), M0, M1 (stop), M7 to M9 (air), M48, M49 (overrides) change nothing that is promised. */
const G_RESTING = new Set([40, 610, 611, 640]);
const M_RESTING = new Set([0, 10, 70, 80, 90, 480, 490]);

/**
 * Reads a program once more before it is called done, and holds it against what was promised: no light while the head rests, at
 * rapid, between rows, when it parks or ends; nothing outside the boxes, no power above the limit, no feed above what is stated. Meaning
 * and order of words after NISTIR 6556 (Kramer, Proctor, Messina, 2000), tables 4 and 8. Shares nothing with what writes programs.
 */
export class ProgramVerifier {
  readonly #promise: ProgramPromise;
  readonly #reader = new LineReader((line) => this.#block(line));
  readonly #rows: RowWatch | null;
  readonly #stretch: Stretch | null;
  #line = 0;
  #unitMm = Number.NaN;
  #absolute = false;
  #perMinute = false;
  #rapid: boolean | null = null;
  #x = Number.NaN;
  #y = Number.NaN;
  #feedMmPerS = Number.NaN;
  #s = Number.NaN;
  #beamAllowed = false;
  /** Whether the last move was made at feed and with light, and whether the head comes from rest. */
  #lit = false;
  #fromRest = true;
  #ended = false;
  /** Whether positions count from where they must. */
  #zeroed: boolean;

  constructor(promise: ProgramPromise) {
    this.#promise = promise;
    this.#rows = promise.rows && new RowWatch(promise.rows);
    this.#stretch = promise.turns ? null : new Stretch(promise.stepMm);
    this.#zeroed = !promise.fromZero;
    if (promise.fromZero) this.#x = this.#y = 0;
  }

  /** The next bytes. @throws ProgramFault */
  push(bytes: Uint8Array): void {
    this.#reader.push(bytes);
  }

  /** No more bytes. @throws ProgramFault */
  finish(): void {
    this.#reader.finish();
    if (!this.#ended) this.#fail('the program does not end');
    const wrong = this.#rows?.finish();
    if (wrong) this.#fail(wrong);
  }

  #block(line: ProgramLine): void {
    this.#line = line.number;
    const { g, m, x, y, f, s, p } = line;
    const moves = !Number.isNaN(x) || !Number.isNaN(y);
    if (line.number === 1 && !(m.length === 1 && m[0] === 50))
      this.#fail('the first line does not switch the beam off');
    const empty = g.length === 0 && m.length === 0 && !moves && Number.isNaN(f) && Number.isNaN(s) && Number.isNaN(p);
    if (empty) return;
    if (this.#ended) this.#fail('words after the end');
    const sets = g.includes(920);
    if (!moves || sets) this.#stop();
    if (!moves && (g.includes(0) || g.includes(10))) this.#fail('a motion to nowhere');
    if (!Number.isNaN(f)) this.#setFeed(f, g);
    if (!Number.isNaN(s)) this.#setPower(s, moves && !sets);
    for (const code of m) this.#mWord(code);
    for (const code of g) this.#gWord(code, p);
    if (!g.includes(40) && !Number.isNaN(p)) this.#fail('P without G4');
    if (moves && !sets) this.#move(x, y);
    else if (sets) {
      const atZero = x === 0 && y === 0 && this.#x === 0 && this.#y === 0;
      if (!this.#promise.fromZero || !atZero) this.#fail('G92 was not promised there');
      this.#zeroed = true;
    }
  }

  #setFeed(f: number, g: readonly number[]): void {
    const unitMm = g.includes(200) ? MM_PER_INCH : this.#unitMm;
    this.#feedMmPerS = (f * unitMm) / 60;
    if (!(this.#feedMmPerS > 0 && this.#feedMmPerS <= this.#promise.feedMmPerS * (1 + SLACK)))
      this.#fail(`a feed of F${f}`);
  }

  #setPower(s: number, moving: boolean): void {
    if (s > 0 && !moving) this.#fail(`a power of S${s} while the head rests`);
    if (!(s >= 0 && s <= this.#promise.mostS + SLACK)) this.#fail(`a power of S${s}`);
    this.#s = s;
  }

  #mWord(code: number): void {
    if (code === 30 || code === 40) {
      if (code !== (this.#promise.beam === 'M3' ? 30 : 40) || !this.#promise.light)
        this.#fail('the beam was not promised');
      if (this.#s !== 0) this.#fail('the beam is allowed before S is 0');
      this.#beamAllowed = true;
    } else if (code === 50) this.#beamAllowed = false;
    else if (code === 20) {
      if (this.#beamAllowed || this.#s > 0) this.#fail('the program ends with the beam on');
      this.#ended = true;
    } else if (!M_RESTING.has(code)) this.#fail(`M${code / 10} is not known`);
  }

  #gWord(code: number, p: number): void {
    if (code === 0 || code === 10) this.#rapid = code === 0;
    else if (code === 200 || code === 210) this.#unitMm = code === 200 ? MM_PER_INCH : 1;
    else if (code === 900) this.#absolute = true;
    else if (code === 940) this.#perMinute = true;
    else if (code === 40 && Number.isNaN(p)) this.#fail('G4 without P');
    else if (code === 921 && this.#promise.fromZero)
      this.#absolute = false; // What positions mean is over: nothing may move now.
    else if (code !== 920 && !G_RESTING.has(code)) this.#fail(`G${code / 10} is not known`);
  }

  #move(x: number, y: number): void {
    const rapid = this.#rapid;
    if (rapid === null || !this.#zeroed || !this.#absolute || !this.#perMinute || Number.isNaN(this.#unitMm))
      this.#fail('a move before its mode is said');
    const [fromX, fromY] = [this.#x, this.#y];
    const toX = Number.isNaN(x) ? fromX : x * this.#unitMm;
    const toY = Number.isNaN(y) ? fromY : y * this.#unitMm;
    if (Number.isNaN(toX) || Number.isNaN(toY)) this.#fail('a move to nobody knows where');
    if (!rapid && Number.isNaN(this.#feedMmPerS)) this.#fail('a move without a feed');
    const lit = !(this.#s === 0);
    const stands = toX === fromX && toY === fromY;
    if (rapid) this.#stop();
    if (lit && (rapid || stands || !this.#beamAllowed || this.#fromRest)) {
      const where = rapid ? 'at rapid' : stands || this.#fromRest ? 'while the head rests' : 'though the beam is off';
      this.#fail(`S is above 0 ${where}`);
    }
    this.#stays(this.#promise.travel, toX, toY, 'the head');
    if (lit) {
      const { light } = this.#promise;
      if (!light) this.#fail('light was not promised');
      this.#stays(light, fromX, fromY, 'light');
      this.#stays(light, toX, toY, 'light');
    }
    this.#x = toX;
    this.#y = toY;
    if (stands) return;
    this.#lit = lit;
    // Nobody knows which way the head came from a place that nobody knows: it may stop there to turn.
    const unknown = Number.isNaN(fromX) || Number.isNaN(fromY);
    this.#fromRest = rapid === true || unknown;
    if (unknown) return;
    if (!rapid) this.#stretch?.move(fromX, fromY, toX, toY);
    if (this.#beamAllowed)
      this.#rows?.move({ rapid: rapid === true, fromX, fromY, toX, toY, feedMmPerS: this.#feedMmPerS, lit });
  }

  #stays({ left, right, near, far }: BedBox, x: number, y: number, what: string): void {
    const slack = this.#promise.stepMm;
    if (x < left - slack || x > right + slack || y < near - slack || y > far + slack)
      this.#fail(`${what} is at ${x.toFixed(3)}, ${y.toFixed(3)} mm, outside where it may be`);
  }

  /** The head comes to rest. */
  #stop(): void {
    if (this.#lit) this.#fail('the head stops with the beam on');
    this.#fromRest = true;
    if (this.#stretch && !this.#stretch.end()) this.#fail('the head turns on the way, where it must stop');
    this.#rows?.stop();
  }

  #fail(why: string): never {
    throw new ProgramFault(this.#line, why);
  }
}
