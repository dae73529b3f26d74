import type { DropItem } from 'react-aria-components';
import { expect, test } from 'vitest';
import { droppedFiles, readFile } from '../../src/page/files/photo-bytes.ts';

const file = new File(['barge'], 'barge.png');
const fileItem = { kind: 'file', type: 'image/png', name: file.name, getFile: async () => file } as unknown as DropItem;
const folderItem = { kind: 'directory', name: 'Hollin Reach' } as unknown as DropItem;
const textItem = { kind: 'text', types: new Set(['text/plain']) } as unknown as DropItem;

test('files are taken, whatever was dropped beside them', async () => {
  expect(await droppedFiles([folderItem, fileItem, textItem])).toEqual([file]);
});

test('a folder alone is answered with the way out', async () => {
  await expect(droppedFiles([folderItem])).rejects.toThrow('“Hollin Reach” is a folder. Drop the file itself');
});

test('so are words, and nothing', async () => {
  await expect(droppedFiles([textItem])).rejects.toThrow('What was dropped is no file.');
  await expect(droppedFiles([])).rejects.toThrow('What was dropped is no file.');
});

test('a file is asked how large it is before it is read', async () => {
  let read = false;
  const huge = {
    size: 1e10,
    arrayBuffer: () => {
      read = true;
      return Promise.resolve(new ArrayBuffer(0));
    },
  } as unknown as Blob;
  await expect(readFile(huge)).rejects.toThrow('is larger than 256 MiB');
  expect(read).toBe(false);
});

test('a file that cannot be read any more is told in our words', async () => {
  const gone = { size: 5, arrayBuffer: () => Promise.reject(new Error('NotReadableError')) } as unknown as Blob;
  await expect(readFile(gone)).rejects.toThrow('cannot be read any more: it was moved, or you may not read it');
});
