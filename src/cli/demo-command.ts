import { extname } from 'node:path';
import sharp, { type Sharp } from 'sharp';
import { encodeSrgbByte } from '../core/color/srgb.ts';
import { createDemoPiece, DEMO_PICTURE_FILE } from '../core/demo/demo-piece.ts';
import { renderDemo } from '../core/demo/render.ts';
import type { Picture } from '../core/image/picture.ts';
import { encodePieceFile } from '../core/piece/file.ts';
import { UsageError } from './io.ts';
import { numberOption } from './options.ts';
import { createProgress } from './progress.ts';
import type { Command } from './run.ts';

const DEFAULT_WIDTH_PX = 1600;
const DEFAULT_OUT = 'hollin-reach.png';

/** How each kind of file is made of the picture, by the end of its name. */
const WRITERS: Readonly<Record<string, (picture: Picture) => Promise<Uint8Array>>> = {
  '.png': (picture) => grey(picture).png({ compressionLevel: 9 }).toBuffer(),
  '.jpg': (picture) => grey(picture).jpeg({ quality: 92 }).toBuffer(),
  '.foreburn': async (picture) => {
    const photo = await grey(picture).jpeg({ quality: 88, mozjpeg: true }).toBuffer();
    return encodePieceFile({
      piece: createDemoPiece(),
      images: new Map([[DEMO_PICTURE_FILE, photo]]),
    });
  },
};

export const DEMO: Command = {
  name: 'demo',
  operands: '',
  summary: 'Render the demo photograph "Hollin Reach", or the demo piece with it inside.',
  options: [
    {
      name: 'width-px',
      value: 'N',
      help: `width in pixels, 64 to 8000 (default ${DEFAULT_WIDTH_PX})`,
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
    const width = widthText === undefined ? DEFAULT_WIDTH_PX : numberOption('--width-px', widthText, 64, 8000);
    if (!Number.isInteger(width)) throw new UsageError(`--width-px: must be a whole number, got "${widthText}"`);
    const out = (values['out'] as string | undefined) ?? DEFAULT_OUT;
    const ending = extname(out).toLowerCase();
    if (!Object.hasOwn(WRITERS, ending)) {
      throw new UsageError(`--out: must end with ${Object.keys(WRITERS).join(', ')}, got "${out}"`);
    }

    await io.outputs.claim(out);
    const progress = createProgress(io);
    let shown = -1;
    const picture = renderDemo({
      width,
      onRow(row, rows) {
        const percent = Math.floor((100 * row) / rows);
        if (percent > shown) progress.show(row / rows, 'Rendering');
        shown = percent;
      },
    });
    progress.clear();
    await io.outputs.write(out, await WRITERS[ending](picture));
    io.out(`${out}: ${picture.width} × ${picture.height} pixels\n`);
  },
};

function grey({ luminance, width, height }: Picture): Sharp {
  const bytes = Uint8Array.from(luminance, encodeSrgbByte);
  return sharp(bytes, { raw: { width, height, channels: 1 } }).toColourspace('b-w');
}
