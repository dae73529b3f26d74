import type { OpenedFile } from './machine-files.ts';
import type { FilePart } from './pass-program.ts';

/** The last line of a program, and that of one after which another follows: the machine waits until the maker lets it go on (NISTIR 6556). */
const END = 'M2\n';

const STOP = 'M0\n';

/** Begins the line after a stop. No piece's own words begin a comment so. */
export const STOP_COMMENT = '(Stop: ';

/**
 * Programs one after another as one, with a stop between them. Each is whole: it switches the beam off first and last and says units,
 * positions and feed anew, so that nothing is carried over from the one before.
 * @param programs opened one at a time, when their turn comes; each has a promise
 * @param onOpened what was opened, in order
 */
export async function* joinPrograms(
  programs: readonly (() => Promise<OpenedFile>)[],
  onOpened: (opened: OpenedFile) => void,
): AsyncGenerator<FilePart, void> {
  for (const [i, open] of programs.entries()) {
    const opened = await open();
    onOpened(opened);
    const last = i === programs.length - 1;
    if (i > 0) yield part(`${STOP_COMMENT}go on with ${i + 1} of ${programs.length})\n`, i / programs.length);
    // The end of a program may lie in two parts.
    let tail = new Uint8Array(0);
    for (const { bytes, share } of opened.parts) {
      const joined = new Uint8Array(tail.length + bytes.length);
      joined.set(tail);
      joined.set(bytes, tail.length);
      const keep = Math.max(0, joined.length - END.length);
      tail = joined.slice(keep);
      yield { bytes: joined.slice(0, keep), share: (i + share) / programs.length };
    }
    const ending = new TextDecoder().decode(tail);
    if (ending !== END) throw new Error(`a program ends with ${JSON.stringify(ending)}`);
    yield part(last ? END : STOP, (i + 1) / programs.length);
  }
}

const part = (text: string, share: number): FilePart => ({ bytes: new TextEncoder().encode(text), share });
