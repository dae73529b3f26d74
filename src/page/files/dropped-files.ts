import { type DropItem, isDirectoryDropItem, isFileDropItem } from 'react-aria-components';
import { InputError } from '../../base/input-error.ts';

/** The files among what was dropped. @throws InputError with the way out if there are none. */
export async function droppedFiles(items: Iterable<DropItem>): Promise<[File, ...File[]]> {
  const dropped = [...items];
  const [file, ...more] = await Promise.all(dropped.filter(isFileDropItem).map((item) => item.getFile()));
  if (file) return [file, ...more];
  const folder = dropped.find(isDirectoryDropItem);
  throw new InputError(
    folder
      ? `“${folder.name}” is a folder. Drop the file itself: open the folder and take it from there.`
      : 'What was dropped is no file. Save it as one first, then drop that.',
  );
}
