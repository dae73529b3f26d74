import { existsSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { LIMITS } from '../base/input-error.ts';
import { DEMO_PICTURE_FILE } from '../piece/demo-piece.ts';
import { decodePieceFile, encodePieceFile } from '../piece/file.ts';
import type { Command } from './io.ts';
import { CliError, numberOption, UsageError } from './options.ts';
import { readBytes } from './read-files.ts';

const DEFAULT_OUT = 'hollin-reach.png';
const DEMO_FILE = 'public/demo/hollin-reach.foreburn';

/** How each kind of file is made of the demo piece with its photograph, by the end of its name. */
const WRITERS: Readonly<Record<string, (photo: Buffer, file: Uint8Array) => Promise<Uint8Array>>> = {
  '.png': (photo) => sharp(photo).toColourspace('b-w').png({ compressionLevel: 9 }).toBuffer(),
  '.jpg': (photo) => sharp(photo).toColourspace('b-w').jpeg({ quality: 92 }).toBuffer(),
  '.foreburn': async (photo, file) => {
    const { piece } = decodePieceFile(file);
    return encodePieceFile({
      piece,
      images: new Map([[DEMO_PICTURE_FILE, await sharp(photo).toColourspace('b-w').jpeg({ quality: 88 }).toBuffer()]]),
    });
  },
};

export const DEMO: Command = {
  name: 'demo',
  operands: '',
  summary: 'Write the demo photograph "Hollin Reach", or the demo piece with it inside.',
  options: [
    {
      name: 'width-px',
      value: 'N',
      help: 'width in pixels, 64 to 8000 (default: as it is)',
    },
    {
      name: 'out',
      value: 'FILE',
      help: `a .png, .jpg or .foreburn file (default ${DEFAULT_OUT})`,
    },
  ],
  async run(operands, values, io) {
    if (operands.length > 0) throw new UsageError(`demo takes no file to read, got "${operands[0]}"`);
    const widthText = values['width-px'] as string | undefined;
    const width = widthText === undefined ? undefined : numberOption('--width-px', widthText, 64, 8000);
    if (width !== undefined && !Number.isInteger(width))
      throw new UsageError(`--width-px: must be a whole number, got "${widthText}"`);
    const out = (values['out'] as string | undefined) ?? DEFAULT_OUT;
    const ending = extname(out).toLowerCase();
    if (!Object.hasOwn(WRITERS, ending)) {
      throw new UsageError(`--out: must end with ${Object.keys(WRITERS).join(', ')}, got "${out}"`);
    }
    await io.outputs.claim(out);
    const file = await readBytes(demoPath(), LIMITS.pieceBytes);
    const { images } = decodePieceFile(file);
    const { data, info } = await sharp(images.get(DEMO_PICTURE_FILE))
      .resize(width)
      .png()
      .toBuffer({ resolveWithObject: true });
    await io.outputs.write(out, await WRITERS[ending](data, file));
    io.out(`${out}: ${info.width} × ${info.height} pixels\n`);
  },
};

/**
 * Where the page's own demo piece lies: in the folder of the project, above the built program or its source.
 * @throws CliError if it is not there.
 */
function demoPath(): string {
  for (let folder = dirname(fileURLToPath(import.meta.url)); ; folder = dirname(folder)) {
    const path = join(folder, DEMO_FILE);
    if (existsSync(path)) return path;
    if (folder === dirname(folder)) throw new CliError(`${DEMO_FILE} is missing: run from a whole copy of the project`);
  }
}
