import sharp from 'sharp';
import { BRIEF_CAUTIONS } from '../base/cautions.ts';
import { encodeSrgb } from '../base/color/srgb.ts';
import { percentToRatio } from '../base/units.ts';
import { createProofPipeline } from '../burn/proof.ts';
import type { SwathResult } from '../burn/swath-task.ts';
import { layingSentence } from '../outputs/program/scrap-job.ts';
import { createPiece } from '../piece/defaults.ts';
import { encodePieceFile } from '../piece/file.ts';
import type { Piece } from '../piece/schema.ts';
import { fittedClearing, proposeCards } from '../studies/calibrate/propose.ts';
import { CARD_KINDS, type CardKind } from '../vision/card/card.ts';
import { CARD_PREPARATION, cardPiece } from '../vision/card/card-piece.ts';
import { CARD_QUANTITIES, CARD_WISH, type CardWish, makeCard } from '../vision/card/make-card.ts';
import { cardPicture } from '../vision/card/picture.ts';
import { type Command, createProgress } from './io.ts';
import { numberOption, type OptionValues, quantityOption, UsageError } from './options.ts';
import { naming, readPieceFile } from './read-files.ts';
import { createCliRunner } from './runner.ts';

const PICTURE_FILE = 'card.png';

export const CARD: Command = {
  name: 'card',
  operands: 'KIND',
  reads: () => [],
  beam: true,
  summary: `Make a test card to burn on scrap: ${CARD_KINDS.join(', ')}, or best.`,
  options: [
    {
      name: 'piece',
      value: 'FILE',
      reads: true,
      help: 'the stack and machine that the card is for (default: the presets)',
    },
    {
      name: 'out',
      value: 'NAME',
      help: 'NAME.foreburn to burn, NAME.json to read it by, NAME-expected.png (default: card)',
    },
    { name: 'size', value: 'WxH', help: 'of the card in mm, to fit the scrap (default 88x63)' },
    { name: 'powers', value: 'LOW-HIGH', help: 'ends of the power steps, % of full power' },
    { name: 'steps', value: 'N', help: 'steps of power (default 16)' },
    { name: 'json', help: 'print the card and what each kind would measure' },
  ],
  async run(operands, values, io) {
    if (operands.length !== 1) throw new UsageError(`card: name one of ${CARD_KINDS.join(', ')}, or best`);
    const [asked] = operands;
    if (asked !== 'best' && !CARD_KINDS.includes(asked as CardKind)) {
      throw new UsageError(`card: there is no "${asked}"; it is one of ${CARD_KINDS.join(', ')}, or best`);
    }
    const wish = wishOf(values);
    const path = values['piece'] as string | undefined;
    const piece = path ? (await readPieceFile(path)).piece : createPiece('', '');
    const out = (values['out'] as string | undefined) ?? 'card';
    const files = [`${out}.foreburn`, `${out}.json`, `${out}-expected.png`];
    for (const file of files) await io.outputs.claim(file);
    const told = asked === 'best' ? naming('card', () => proposeCards(piece, wish)) : null;
    const card = told
      ? told[0].card
      : naming('card', () => makeCard(asked as CardKind, piece, { ...wish, clearing: fittedClearing(piece) }));
    const job = naming('card', () => cardPiece(card, piece, PICTURE_FILE));
    const picture = cardPicture(card);
    const levels = Uint16Array.from(picture.luminance, (value) => Math.round(65535 * encodeSrgb(value)));
    const raw = { width: picture.width, height: picture.height, channels: 1 } as const;
    const png = await sharp(levels, { raw }).toColourspace('grey16').png().toBuffer();
    await io.outputs.write(files[0], encodePieceFile({ piece: job, images: new Map([[PICTURE_FILE, png]]) }));
    await io.outputs.write(files[1], `${JSON.stringify(card, null, 2)}\n`);
    const progress = createProgress(io);
    const runner = createCliRunner();
    let burnTimeS = 0;
    try {
      const strips: SwathResult[] = [];
      const photo = { key: 'card', picture, castless: null };
      const collect = { surface: true, fields: false, painted: false };
      const hooks = { onSwath: (strip: SwathResult) => strips.push(strip), onProgress: progress.show };
      const { grid, summary } = await createProofPipeline().proof({ piece: job, photo, collect }, runner, hooks);
      burnTimeS = summary.burnTimeS;
      await io.outputs.write(files[2], await expectedPng(grid.width, grid.height, card.pitchMm, strips));
    } finally {
      progress.clear();
      runner.dispose();
    }
    const kinds = told?.map(({ kind, tells }) => ({ kind, tells }));
    if (values['json']) io.out(`${JSON.stringify({ card, kinds: kinds ?? null }, null, 2)}\n`);
    else io.out(wordsOf(out, card, job, Math.max(1, Math.round(burnTimeS / 60)), kinds ?? []));
  },
};

async function expectedPng(
  width: number,
  height: number,
  pitchMm: number,
  strips: readonly SwathResult[],
): Promise<Buffer> {
  const rgb = new Uint8Array(3 * width * height);
  for (const { y0, color } of strips) {
    const bytes = color as Uint8Array;
    for (let i = 0; i < bytes.length / 4; i++) rgb.set(bytes.subarray(4 * i, 4 * i + 3), 3 * (y0 * width + i));
  }
  return sharp(rgb, { raw: { width, height, channels: 3 } })
    .withMetadata({ density: 25.4 / pitchMm })
    .png()
    .toBuffer();
}

function wishOf(values: OptionValues): CardWish {
  let wish = CARD_WISH;
  const size = values['size'] as string | undefined;
  if (size !== undefined) {
    const [width, height, ...more] = size.split('x');
    if (height === undefined || more.length > 0) throw new UsageError(`--size: write it as 88x63 (mm), got "${size}"`);
    wish = {
      ...wish,
      widthMm: Math.floor(numberOption('--size', width, 30, 400)),
      heightMm: Math.floor(numberOption('--size', height, 20, 400)),
    };
  }
  const powers = values['powers'] as string | undefined;
  if (powers !== undefined) {
    const [low, high] = powers.split('-').map((text) => percentToRatio(numberOption('--powers', text, 0, 100)));
    if (!(high > low)) throw new UsageError(`--powers: write it as 20-80 (%), got "${powers}"`);
    wish = { ...wish, powers: [low, high] };
  }
  const steps = values['steps'] as string | undefined;
  return steps === undefined ? wish : { ...wish, steps: quantityOption('--steps', steps, CARD_QUANTITIES.steps) };
}

function wordsOf(
  out: string,
  card: ReturnType<typeof makeCard>,
  piece: Piece,
  minutes: number,
  kinds: readonly { kind: string; tells: number }[],
): string {
  const lines = [
    `Card ${card.id} (${card.kind}), ${card.widthMm} × ${card.heightMm} mm: ${card.patches.length} patches, ${card.lines.length} lines.`,
    ...(kinds.length > 0
      ? [
          `Of the error of this picture’s tones a reading is expected to leave: ${kinds.map(({ kind, tells }) => `${kind} ${Math.round(100 * Math.exp(-tells))} %`).join(', ')}.`,
        ]
      : []),
    ...CARD_PREPARATION,
    `${layingSentence(piece, 'scrap')} Burning takes ${minutes} min.`,
    `“job --piece ${out}.foreburn” writes the lap round the scrap and the programs; read the burned card with ${out}.json.`,
    ...BRIEF_CAUTIONS,
  ];
  return `${lines.join('\n')}\n`;
}
