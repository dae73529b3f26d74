import type { ProgramPromise } from '../../../outputs/program/machine-file.ts';
import { JoinedVerifier } from '../../../outputs/program/verify/joined-verifier.ts';
import { ProgramFault, ProgramVerifier } from '../../../outputs/program/verify/program-verifier.ts';

const AT_ONCE = 1 << 20;

/**
 * Reads a program back from where it was written, or from the bytes that are handed to the browser, and holds it against what was promised;
 * several promises are those of programs that were joined.
 * @throws Error with a message for people.
 */
export async function readBack(
  file: Blob,
  promise: ProgramPromise | readonly ProgramPromise[],
  onShare: (share: number) => Promise<void>,
): Promise<void> {
  const verifier = 'length' in promise ? new JoinedVerifier(promise) : new ProgramVerifier(promise);
  try {
    for (let at = 0; at < file.size; at += AT_ONCE) {
      verifier.push(new Uint8Array(await file.slice(at, at + AT_ONCE).arrayBuffer()));
      await onShare(at / file.size);
    }
    verifier.finish();
  } catch (error) {
    if (!(error instanceof ProgramFault)) throw error;
    throw new Error(
      `The program was read back and is not what it must be (${error.message}). It was not kept; save it again, and check the disk if this comes again.`,
    );
  }
}
