import sharp from 'sharp';
import { BRIEF_CAUTIONS } from '../base/cautions.ts';
import { encodeSrgbByte } from '../base/color/srgb.ts';
import { createCoarsePipeline } from '../burn/coarse.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import type { Picture } from '../image/picture.ts';
import { layingSentence } from '../outputs/program/scrap-job.ts';
import { fieldOf } from '../piece/fields.ts';
import { encodePieceFile } from '../piece/file.ts';
import type { CropBox } from '../piece/frame.ts';
import { rescueTools } from '../studies/rescue/rescue-scene.ts';
import {
  learnFromStrip,
  proveStrip,
  type StripAnswer,
  type StripLesson,
  type StripProof,
} from '../studies/test-strip/learn-from-strip.ts';
import { makeStrip, type TestStrip } from '../studies/test-strip/make-strip.ts';
import { BANDS, MOST_BANDS, STRIP_PICTURE_FILE, type StripOrder } from '../studies/test-strip/strip-piece.ts';
import { type Command, type CommandIo, createProgress } from './io.ts';
import { BURN_OPTIONS, type OpenedJob, openJob, PIECE_OPTION } from './open-job.ts';
import { CliError, numberOption, type OptionValues, quantityOption, UsageError } from './options.ts';
import { pieceBytes } from './outputs.ts';
import { createCliRunner } from './runner.ts';

export const STRIP: Command = {
  name: 'strip',
  operands: '[PHOTO]',
  beam: true,
  summary:
    'Make a test strip for scrap: a part of the picture in bands of rising power, as a piece to burn; take in which band was best.',
  options: [
    PIECE_OPTION,
    { name: 'crop', value: 'X,Y,W,H', help: 'part of the picture, mm from its left top corner' },
    { name: 'from', value: 'N', help: 'light-end power of the first band, % (with --vary feed: feed, mm/min)' },
    { name: 'to', value: 'N', help: 'of the last band' },
    { name: 'bands', value: 'N', help: 'how many, 3 to 9 (default 5)' },
    { name: 'vary', value: 'WHAT', help: 'power or feed (default power)' },
    { name: 'clears', value: 'N', help: 'after the burn: number of the first band that is clear, or none' },
    { name: 'scorches', value: 'N', help: 'after the burn: number of the first band that is scorched, or none' },
    {
      name: 'out',
      value: 'FILE',
      help: 'a .foreburn file: the strip, or with an answer the piece with what it showed',
    },
    ...BURN_OPTIONS,
    { name: 'json', help: 'print the bands or the lesson as JSON' },
  ],
  async run(operands, values, io) {
    const order = orderOf(values);
    const answer = answerOf(values);
    const out = values['out'] as string | undefined;
    const claim = async () => {
      if (out !== undefined) await io.outputs.claim(out);
    };
    const job = await openJob('strip', operands, values, claim);
    try {
      if (answer) await takeIn(job, order, answer, out, operands[0], values['json'] === true, io);
      else await writeSwath(job, order, out, values['json'] === true, io);
    } catch (error) {
      if (error instanceof RangeError) throw new CliError(error.message);
      throw error;
    }
  },
};

async function writeSwath(
  job: OpenedJob,
  order: StripOrder,
  out: string | undefined,
  json: boolean,
  io: CommandIo,
): Promise<void> {
  const strip = makeStrip(job.piece, job.photo, order);
  const progress = createProgress(io);
  const runner = createCliRunner();
  let proof: StripProof;
  try {
    proof = await proveStrip(strip, createProofPipeline(), runner, { onProgress: progress.show, now: io.now });
  } finally {
    progress.clear();
    runner.dispose();
  }
  if (out) {
    const images = new Map([[STRIP_PICTURE_FILE, await encodeGrey(strip.picture)]]);
    await io.outputs.write(out, encodePieceFile({ piece: strip.piece, images }));
  }
  const { bands, burnTimeS } = proof;
  if (json) {
    const { widthMm, heightMm } = strip.layout;
    io.out(`${JSON.stringify({ order, widthMm, heightMm, burnTimeS, bands }, null, 2)}\n`);
  } else io.out(stripText(strip, proof, order, out));
}

async function takeIn(
  { piece, photo, ...job }: OpenedJob,
  order: StripOrder,
  answer: StripAnswer,
  out: string | undefined,
  photoPath: string | undefined,
  json: boolean,
  io: CommandIo,
): Promise<void> {
  const progress = createProgress(io);
  const runner = createInlineRunner();
  let lesson: StripLesson;
  try {
    const tools = rescueTools(createProofPipeline(), createCoarsePipeline(), runner);
    lesson = await learnFromStrip(piece, photo, order, answer, tools, (share) => progress.show(share, 'strip'));
  } finally {
    progress.clear();
    runner.dispose();
  }
  if (!lesson.agrees) {
    throw new CliError(
      'no such paint and machine would give these bands: check that the strip was burned with these coats, watts and focus; nothing was taken in',
    );
  }
  if (out) await io.outputs.write(out, await pieceBytes(lesson.piece, { piece, photo, ...job }, photoPath));
  if (json) io.out(`${JSON.stringify({ order, answer, ...lesson }, null, 2)}\n`);
  else {
    const [before, after] = [piece, lesson.piece].map(({ stack }) => stack.coats[0]);
    const change = (a: number, b: number) => `${((100 * b) / a - 100).toFixed(0)} %`;
    io.out(
      `Taken in: the top coat’s threshold changes by ${change(before.thresholdJPerMm2, after.thresholdJPerMm2)}, its specific energy by ${change(before.specificEnergyJPerMm3, after.specificEnergyJPerMm3)}.\n${out ? `Written to ${out}.\n` : ''}`,
    );
  }
}

function orderOf(values: OptionValues): StripOrder {
  const vary = (values['vary'] as string | undefined) ?? 'power';
  if (vary !== 'power' && vary !== 'feed') throw new UsageError(`--vary: must be power or feed, got "${vary}"`);
  const end = (name: string) => {
    const text = values[name] as string | undefined;
    if (text === undefined) throw new UsageError(`strip: give --${name}`);
    const field = vary === 'power' ? 'passes.0.lightEndPower' : 'passes.0.feedMmPerS';
    return quantityOption(`--${name}`, text, fieldOf(field));
  };
  const bands =
    values['bands'] === undefined ? 5 : numberOption('--bands', values['bands'] as string, BANDS.low, BANDS.high);
  return { crop: cropOf(values), vary, from: end('from'), to: end('to'), bands };
}

function cropOf(values: OptionValues): CropBox {
  const text = values['crop'] as string | undefined;
  if (text === undefined) throw new UsageError('strip: give --crop X,Y,W,H in mm');
  const numbers = text.split(',').map((part) => numberOption('--crop', part, 0, 3000));
  if (numbers.length !== 4) throw new UsageError(`--crop: must be X,Y,W,H in mm, got "${text}"`);
  const [xMm, yMm, widthMm, heightMm] = numbers;
  return { xMm, yMm, widthMm, heightMm };
}

/** Null unless an answer is given. */
function answerOf(values: OptionValues): StripAnswer | null {
  const band = (name: string) => {
    const text = values[name] as string | undefined;
    if (text === undefined) return undefined;
    return text === 'none' ? null : numberOption(`--${name}`, text, 1, MOST_BANDS);
  };
  const [clears, scorches] = [band('clears'), band('scorches')];
  if (clears === undefined && scorches !== undefined)
    throw new UsageError('--scorches: give --clears too, a band or none');
  return clears === undefined ? null : { clears, scorches };
}

function stripText(
  { piece, layout: { widthMm, heightMm } }: TestStrip,
  { bands, burnTimeS }: StripProof,
  { vary }: StripOrder,
  out: string | undefined,
): string {
  const percent = (value: number | null) => (value === null ? 'no light areas' : `${(100 * value).toFixed(1)} %`);
  const unit = vary === 'power' ? '%' : 'mm/min';
  const rows = bands.map(
    ({ band, uncleared, scorched }) =>
      `  ${band.number}  ${`${band.label} ${unit}`.padStart(12)}  left dark ${percent(uncleared).padStart(7)}  scorched ${percent(scorched)}`,
  );
  const lines = [
    `Scrap of ${widthMm} × ${heightMm} mm under the same coats, ${Math.max(1, Math.round(burnTimeS / 60))} min.`,
    ...rows,
    layingSentence(piece, 'scrap'),
    ...(out
      ? [
          `Written to ${out}: “job --piece ${out}” writes the lap round the scrap and the programs. Once it is burned, say --clears and --scorches.`,
        ]
      : []),
    ...BRIEF_CAUTIONS,
  ];
  return `${lines.join('\n')}\n`;
}

async function encodeGrey({ luminance, width, height }: Picture): Promise<Uint8Array> {
  const bytes = Uint8Array.from(luminance, encodeSrgbByte);
  const image = sharp(bytes, { raw: { width, height, channels: 1 } }).toColourspace('b-w');
  return image.png({ compressionLevel: 9 }).toBuffer();
}
