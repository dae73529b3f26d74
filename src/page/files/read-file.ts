import { InputError } from '../../base/input-error.ts';
import { inMiB, LIMITS } from '../../base/limits.ts';
import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';

/**
 * All of a file that was chosen or dropped. How large it is, is asked before it is read.
 * @throws InputError that reads on from its name, as the errors of pictures do.
 */
export async function readFile(file: Blob, most: number = LIMITS.pictureBytes): Promise<Uint8Array<ArrayBuffer>> {
  if (file.size > most) throw new InputError(`is larger than ${inMiB(most)}, which is more than can be opened.`);
  try {
    return new Uint8Array(await file.arrayBuffer());
  } catch {
    throw new InputError('cannot be read any more: it was moved, or you may not read it. Open it again.');
  }
}

/** The same for a document. */
export const readTextFile = async (file: Blob, most: number = LIMITS.documentBytes): Promise<string> =>
  new TextDecoder().decode(await readFile(file, most));

/** A photograph that the page can decode, looked over before it is. @throws InputError with its name and the reason. */
export async function readPicture(file: File): Promise<Uint8Array<ArrayBuffer>> {
  try {
    const bytes = await readFile(file);
    inspectPicture(bytes, PAGE_FORMATS);
    return bytes;
  } catch (error) {
    throw new InputError(`${file.name} ${(error as Error).message}`);
  }
}
