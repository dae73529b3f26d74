import { STOP_COMMENT } from '../joined-program.ts';
import type { ProgramPromise } from '../machine-file.ts';
import { ProgramFault, ProgramVerifier } from './program-verifier.ts';

/** More than a stop and the line after it are long. */
const TAIL_BYTES = 256;

const bytesOf = (text: string): Uint8Array => new TextEncoder().encode(text);

const BORDER = bytesOf(`M0\n${STOP_COMMENT}`);

const END = bytesOf('M2\n');

/** Reads programs that were joined with stops between them once more, each held against its own promise as if it stood alone. */
export class JoinedVerifier {
  readonly #promises: readonly ProgramPromise[];
  #at = 0;
  #verifier: ProgramVerifier;
  #pending = new Uint8Array(0);

  /** @param promises one for each program, at least one */
  constructor(promises: readonly ProgramPromise[]) {
    this.#promises = promises;
    this.#verifier = new ProgramVerifier(promises[0]);
  }

  /** The next bytes. @throws ProgramFault whose line counts from the stop before */
  push(bytes: Uint8Array): void {
    let rest = new Uint8Array(this.#pending.length + bytes.length);
    rest.set(this.#pending);
    rest.set(bytes, this.#pending.length);
    for (let border = find(rest, BORDER); border >= 0; border = find(rest, BORDER)) {
      const lineEnd = rest.indexOf(10, border + BORDER.length);
      if (lineEnd < 0) break;
      this.#verifier.push(rest.subarray(0, border));
      this.#verifier.push(END);
      this.#verifier.finish();
      this.#at++;
      if (this.#at >= this.#promises.length) throw new ProgramFault(1, 'more programs than there must be');
      this.#verifier = new ProgramVerifier(this.#promises[this.#at]);
      rest = rest.slice(lineEnd + 1);
    }
    const done = Math.max(0, rest.length - TAIL_BYTES);
    this.#verifier.push(rest.subarray(0, done));
    this.#pending = rest.slice(done);
  }

  /** No more bytes. @throws ProgramFault */
  finish(): void {
    this.#verifier.push(this.#pending);
    this.#verifier.finish();
    if (this.#at !== this.#promises.length - 1)
      throw new ProgramFault(1, `${this.#at + 1} programs instead of ${this.#promises.length}`);
  }
}

/** Where a row of bytes stands in others; -1 where it does not. */
function find(bytes: Uint8Array, wanted: Uint8Array): number {
  for (let at = bytes.indexOf(wanted[0]); at >= 0; at = bytes.indexOf(wanted[0], at + 1))
    if (wanted.every((byte, i) => bytes[at + i] === byte)) return at;
  return -1;
}
