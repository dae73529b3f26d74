import { writeFile } from 'node:fs/promises';
import { basename, extname } from 'node:path';
import sharp from 'sharp';
import { setPngResolution } from '../core/export/png-resolution.ts';
import { preparedGreys } from '../core/export/prepared-greys.ts';
import type { ToneImage } from '../core/image/picture.ts';
import { createPiece } from '../core/piece/defaults.ts';
import { resolutionSentence } from '../core/placement/fit-picture.ts';
import { createPreparation } from '../sim/prepare.ts';
import { UsageError } from './io.ts';
import { applyOptions } from './options.ts';
import { freshPiece } from './proof-command.ts';
import { readPhoto } from './read-photo.ts';
import { readPiece } from './read-piece.ts';
import type { Command } from './run.ts';

export const PREPARE: Command = {
  name: 'prepare',
  operands: 'PHOTO',
  summary: 'Write the picture as the machine gets it: true size, tones, transparent where nothing burns.',
  options: [
    {
      name: 'piece',
      value: 'FILE',
      help: 'slab, picture settings and row pitch from a .foreburn file or its piece.json',
    },
    { name: 'out', value: 'FILE', help: 'where to write (default: PHOTO without its ending, -prepared.png)' },
    { name: 'width-mm', value: 'N', help: 'width of the picture on the slab' },
    { name: 'row-pitch', value: 'MM', help: 'distance between rows' },
    { name: 'json', help: 'print size and resolution' },
  ],
  async run(operands, values, io) {
    if (operands.length !== 1) throw new UsageError('prepare: give one photograph');
    const [photoPath] = operands;
    const saved = values['piece'] ? await readPiece(values['piece'] as string) : null;
    applyOptions(saved ?? createPiece('', ''), values);
    const photo = await readPhoto(photoPath);
    const { picture } = photo;
    const piece = applyOptions(saved ?? freshPiece(photoPath, picture), values);
    const pitchMm = piece.passes[0].rowPitchMm;
    const tone = createPreparation().tone({ key: 'photo', ...photo }, piece, pitchMm, piece.picture.tone);
    const out = (values['out'] as string | undefined) ?? `${basename(photoPath, extname(photoPath))}-prepared.png`;
    await writeFile(out, await encodePrepared(tone, pitchMm));
    const burned = tone.mask.reduce((sum, value) => sum + (value > 0 ? 1 : 0), 0);
    const report = {
      file: out,
      widthPx: tone.width,
      heightPx: tone.height,
      widthMm: tone.width * pitchMm,
      heightMm: tone.height * pitchMm,
      burnedShare: burned / tone.mask.length,
      note: resolutionSentence(piece.picture, picture, pitchMm),
    };
    const words = `${out}: ${tone.width} × ${tone.height} dots, ${report.widthMm.toFixed(1)} × ${report.heightMm.toFixed(1)} mm.`;
    if (values['json']) io.out(`${JSON.stringify(report, null, 2)}\n`);
    else io.out(`${[words, report.note].filter(Boolean).join('\n')}\n`);
  },
};

/** Grey with transparency, 8 bits each, with its true size. */
async function encodePrepared(tone: ToneImage, pitchMm: number): Promise<Uint8Array> {
  const { width, height } = tone;
  const png = await sharp(preparedGreys(tone, 1), { raw: { width, height, channels: 2 } })
    .toColourspace('b-w')
    .png({ compressionLevel: 9 })
    .toBuffer();
  return setPngResolution(png, 1 / pitchMm);
}
