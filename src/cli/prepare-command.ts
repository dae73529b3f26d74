import sharp from 'sharp';
import { createPreparation } from '../burn/prepare.ts';
import type { ToneImage } from '../image/picture.ts';
import { preparedGreys, setPngResolution } from '../image/png-stream.ts';
import { resolutionSentence } from '../physics/bed/placed-box.ts';
import type { Command } from './io.ts';
import { BURN_OPTIONS, baseNameOf, openJob, PIECE_OPTION } from './open-job.ts';

export const PREPARE: Command = {
  name: 'prepare',
  operands: '[PHOTO]',
  summary: 'Write the picture as the machine gets it: true size, tones, transparent where nothing burns.',
  options: [
    PIECE_OPTION,
    { name: 'out', value: 'FILE', help: 'where to write (default: PHOTO without its ending, -prepared.png)' },
    ...BURN_OPTIONS.filter(({ name }) => ['width-mm', 'row-pitch', 'text', 'border'].includes(name)),
    { name: 'json', help: 'print size and resolution' },
  ],
  async run(operands, values, io) {
    const out = (values['out'] as string | undefined) ?? `${baseNameOf(operands, values)}-prepared.png`;
    const { piece, photo } = await openJob('prepare', operands, values, () => io.outputs.claim(out));
    const pitchMm = piece.passes[0].rowPitchMm;
    const tone = createPreparation().tone(photo, piece, pitchMm, piece.picture.tone);
    await io.outputs.write(out, await encodePrepared(tone, pitchMm));
    const burned = tone.mask.reduce((sum, value) => sum + (value > 0 ? 1 : 0), 0);
    const report = {
      file: out,
      widthPx: tone.width,
      heightPx: tone.height,
      widthMm: tone.width * pitchMm,
      heightMm: tone.height * pitchMm,
      burnedShare: burned / tone.mask.length,
      note: resolutionSentence(piece.picture, photo.picture, pitchMm),
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
