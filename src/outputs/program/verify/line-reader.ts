import { ProgramFault } from './program-fault.ts';

/** What a line of a program says. Letters that it does not have are NaN. Reused from line to line. */
export interface ProgramLine {
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
export class LineReader {
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
