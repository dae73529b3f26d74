import { writeFile } from 'node:fs/promises';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { readBack } from '../../src/cli/job-command.ts';
import type { ProgramPromise } from '../../src/outputs/program/machine-file.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { temporaryFolder } from '../helpers/command-line.ts';
import { textOf } from '../helpers/random-machine-job.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let text = '';
let promise: ProgramPromise;
beforeAll(async () => {
  folder = await temporaryFolder();
  const base = createPiece('Hollin Reach', 'photo.png');
  const piece = { ...base, picture: { ...base.picture, widthMm: 12, crop: 'rectangle' as const } };
  const luminance = Float32Array.from({ length: 600 }, (_, i) => (i % 30) / 30);
  const photo = { key: 'ramp', picture: { width: 30, height: 20, luminance, alpha: null }, castless: null };
  const opened = await openMachineFile({ kind: 'pass', index: 0 }, piece, photo);
  text = textOf(opened);
  promise = opened.promise!;
});
afterAll(() => folder.remove());

/** Null where the file was found right. */
async function read(content: string): Promise<string | null> {
  const path = folder.file('program.gcode');
  await writeFile(path, content, 'latin1');
  try {
    await readBack(path, 'NAME', promise);
    return null;
  } catch (error) {
    return (error as Error).message;
  }
}

describe('a program read back from the disk', () => {
  test('is done when it is what was meant', async () => {
    expect(await read(text)).toBeNull();
  });

  test('is refused, and its line named, when it is not', async () => {
    expect(await read(text.replace('X', '\u0000'))).toMatch(
      /^NAME was read back from the disk and is not the program it must be \(line \d+: the sign 0 may not stand there\)\. It was not kept;/,
    );
    for (const [spoiled, why] of [
      [text.slice(0, text.length / 2), /the last line does not end|does not end/],
      [text.replace(/M2\n$/, ''), /the program does not end/],
      [text.replace(/S0\nM5/, '\nM5'), /the head stops with the beam on|light is at .* outside where it may be/],
      [text.replace('M4 S0', 'M3 S0'), /the beam was not promised/],
      [text.replace(/S\d{3}\n/, 'S1001\n'), /a power of S1001/],
      [text.replace(/F\d+/, 'F6001'), /a feed of F6001/],
      [text.replace('G21', 'G20'), /a feed of|outside where it may be/],
      [text.replace(/(\nX)\d+/, '$1199'), /outside where it may be|turns on the way/],
      [text.replace('(Foreburn', '(Foreburn?'), /may not stand in a comment/],
      [text.replace('at hand', 'at hand, and a second one'), /longer than 80 signs/],
      [text.replace('Fumes outdoors.)', 'Fumes outdoors'), /a comment that does not end/],
    ] as const) {
      const says = await read(spoiled);
      expect(says).toMatch(why);
    }
    // A row that is missing.
    const rows = text.split('\nG0');
    expect(await read([...rows.slice(0, 20), ...rows.slice(21)].join('\nG0'))).toMatch(
      /\d+ rows instead of \d+|s of work|turns/,
    );
  });

  test('a file that is gone is named', async () => {
    await expect(readBack(folder.file('none.gcode'), 'NAME', promise)).rejects.toThrow('NAME cannot be read back');
  });
});
