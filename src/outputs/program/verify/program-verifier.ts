import type { ProgramPromise, RowsPromise } from '../machine-file.ts';
import type { BedBox } from '../pass-program.ts';

/** What the head does at feed between two stops: it must go straight on, or it would stop on the way. */
class Stretch {
  readonly #slackMm: number;
  /** Places one after another, x and y in turn. */
  #places: number[] = [];

  constructor(stepMm: number) {
    this.#slackMm = 2 * stepMm + 1e-6;
  }

  move(fromX: number, fromY: number, toX: number, toY: number): void {
    if (this.#places.length === 0) this.#places.push(fromX, fromY);
    this.#places.push(toX, toY);
  }

  /** The head has stopped. Says whether it went straight on until then. */
  end(): boolean {
    const places = this.#places;
    if (places.length === 0) return true;
    this.#places = [];
    const [x, y] = places;
    const dx = places[places.length - 2] - x;
    const dy = places[places.length - 1] - y;
    const reach = Math.hypot(dx, dy);
    let furthest = 0;
    for (let i = 2; i < places.length; i += 2) {
      const px = places[i] - x;
      const py = places[i + 1] - y;
      const along = (px * dx + py * dy) / reach;
      const beside = Math.abs(px * dy - py * dx) / reach;
      // Not a number where it ends where it began.
      if (!(beside <= this.#slackMm && along >= furthest - this.#slackMm)) return false;
      furthest = Math.max(furthest, along);
    }
    return true;
  }
}

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
class RowWatch {
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

/** What a line of a program says. Letters that it does not have are NaN. Reused from line to line. */
interface ProgramLine {
  number: number;
  /** Codes times ten: G92.1 is 921. */
  readonly g: number[];
  readonly m: number[];
  x: number;
  y: number;
  f: number;
  s: number;
  p: number;
}

const LONGEST = 80;

const NEWLINE = 10;

const SPACE = 32;

const OPEN = 40;

const CLOSE = 41;

const MINUS = 45;

const POINT = 46;

const TENTHS = Array.from({ length: LONGEST }, (_, places) => 10 ** places);

/** No more than this, so that no controller takes them for anything else. */
const COMMENT = /^[A-Za-z0-9 .,:+/-]*$/;

/** A comment that begins so is shown by the controller (NISTIR 6556, messages). */
const MESSAGE = /^\s*MSG/i;

/**
 * Reads the bytes of a program line by line, in pieces of any length, without keeping them. Stricter than NISTIR 6556 (Kramer, Proctor,
 * Messina, 2000): capitals and numbers without exponent only, and only plain comments.
 */
class LineReader {
  readonly #onLine: (line: ProgramLine) => void;
  readonly #line: ProgramLine = { number: 1, g: [], m: [], x: NaN, y: NaN, f: NaN, s: NaN, p: NaN };
  /** The beginning of a line whose end is still to come. */
  readonly #begun = new Uint8Array(LONGEST + 1);
  #begunLength = 0;

  constructor(onLine: (line: ProgramLine) => void) {
    this.#onLine = onLine;
  }

  /** @throws ProgramFault */
  push(bytes: Uint8Array): void {
    let from = 0;
    for (let end = bytes.indexOf(NEWLINE); end >= 0; end = bytes.indexOf(NEWLINE, from)) {
      if (this.#begunLength > 0) {
        this.#keep(bytes, from, end);
        this.#read(this.#begun, 0, this.#begunLength);
        this.#begunLength = 0;
      } else this.#read(bytes, from, end);
      from = end + 1;
    }
    this.#keep(bytes, from, bytes.length);
  }

  /** @throws ProgramFault where the last line does not end. */
  finish(): void {
    if (this.#begunLength > 0) this.#fail('the last line does not end');
  }

  #keep(bytes: Uint8Array, from: number, end: number): void {
    if (this.#begunLength + end - from > LONGEST) this.#fail(`longer than ${LONGEST} signs`);
    this.#begun.set(bytes.subarray(from, end), this.#begunLength);
    this.#begunLength += end - from;
  }

  #read(bytes: Uint8Array, from: number, end: number): void {
    if (end - from > LONGEST) this.#fail(`longer than ${LONGEST} signs`);
    const line = this.#line;
    line.g.length = 0;
    line.m.length = 0;
    line.x = line.y = line.f = line.s = line.p = Number.NaN;
    let i = from;
    while (i < end) {
      const letter = bytes[i++];
      if (letter === SPACE) continue;
      if (letter === OPEN) {
        i = this.#readComment(bytes, i, end);
        continue;
      }
      if (letter < 65 || letter > 90) this.#fail(`the sign ${letter} may not stand there`);
      const minus = bytes[i] === MINUS;
      if (minus) i++;
      const digitsFrom = i;
      let value = 0;
      let point = -1;
      for (; i < end; i++) {
        const byte = bytes[i];
        if (byte >= 48 && byte <= 57) value = 10 * value + byte - 48;
        else if (byte === POINT && point < 0 && i > digitsFrom) point = i;
        else break;
      }
      if (i === digitsFrom || i === point + 1) this.#fail(`${String.fromCharCode(letter)} without a number`);
      if (point >= 0) value /= TENTHS[i - point - 1];
      this.#word(letter, minus ? -value : value);
    }
    this.#onLine(line);
    line.number++;
  }

  #readComment(bytes: Uint8Array, from: number, end: number): number {
    const close = bytes.subarray(from, end).indexOf(CLOSE);
    if (close < 0) this.#fail('a comment that does not end');
    const text = String.fromCharCode(...bytes.subarray(from, from + close));
    if (!COMMENT.test(text)) this.#fail('a sign that may not stand in a comment');
    if (MESSAGE.test(text)) this.#fail('a comment that the controller acts upon');
    return from + close + 1;
  }

  #word(letter: number, value: number): void {
    const line = this.#line;
    switch (letter) {
      case 71:
        line.g.push(Math.round(10 * value));
        return;
      case 77:
        line.m.push(Math.round(10 * value));
        return;
      case 88:
        if (!Number.isNaN(line.x)) break;
        line.x = value;
        return;
      case 89:
        if (!Number.isNaN(line.y)) break;
        line.y = value;
        return;
      case 70:
        if (!Number.isNaN(line.f)) break;
        line.f = value;
        return;
      case 83:
        if (!Number.isNaN(line.s)) break;
        line.s = value;
        return;
      case 80:
        if (!Number.isNaN(line.p)) break;
        line.p = value;
        return;
      default:
        this.#fail(`the word ${String.fromCharCode(letter)} is not known`);
    }
    this.#fail(`${String.fromCharCode(letter)} twice`);
  }

  #fail(why: string): never {
    throw new ProgramFault(this.#line.number, why);
  }
}

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

/** A program that does not hold what it promises. The message names the line. */
export class ProgramFault extends Error {
  constructor(line: number, why: string) {
    super(`line ${line}: ${why}`);
    this.name = 'ProgramFault';
  }
}
