import type { Lab } from '../base/color/lab.ts';
import { createPiece } from '../piece/defaults.ts';
import { type Card, parseCard } from '../vision/card/card.ts';
import { cardColors, type PhotoReading, readCardPhoto } from '../vision/card/read-photo.ts';
import { type CardReading, type EyeNotes, readByEye } from '../vision/card/reading.ts';
import type { Command } from './io.ts';
import { CliError, numberOption, type OptionValues, UsageError } from './options.ts';
import { naming, readPieceFile, readRgba, readText } from './read-files.ts';

export const READ: Command = {
  name: 'read',
  operands: '[PHOTO]',
  summary: 'Read a burned card off a photograph or scan, or from what you see.',
  options: [
    { name: 'card', value: 'FILE', reads: true, help: 'the NAME.json that was written with the card' },
    {
      name: 'piece',
      value: 'FILE',
      reads: true,
      help: 'the stack on the card, for its colours (default: the presets)',
    },
    { name: 'chip', value: 'L,a,b', help: 'colour of a chip on the reference place, if it is not the bare undercoat' },
    {
      name: 'seen',
      value: '"shows=4,clears=9,scorches=15"',
      several: true,
      help: 'by eye: labels of the first patches; row=NAME for another row',
    },
    { name: 'line', value: 'ID=MM', several: true, help: 'by eye: width of a line, 0 if it does not show' },
    { name: 'pair', value: 'N', help: 'by eye: which pair of the vernier lines up, counted from the left' },
    { name: 'out', value: 'FILE', help: 'where to write (default: reading.json)' },
    { name: 'json', help: 'print the reading' },
  ],
  async run(operands, values, io) {
    if (operands.length > 1) throw new UsageError('read: give one photograph, or none and --seen or --line');
    const cardPath = values['card'] as string | undefined;
    if (cardPath === undefined)
      throw new UsageError('read: --card is missing; it is the .json file written with the card');
    const byEye = notesOf(values);
    if ((operands.length === 0) === (byEye === null)) {
      throw new UsageError('read: give either a photograph or what you saw (--seen, --line, --pair)');
    }
    const out = (values['out'] as string | undefined) ?? 'reading.json';
    await io.outputs.claim(out);
    const text = await readText(cardPath);
    const card = naming(cardPath, () => parseCard(text));
    const { reading, warning } = byEye
      ? { reading: naming(cardPath, () => readByEye(card, byEye)), warning: null }
      : await fromPhoto(operands[0], card, values);
    if (warning !== null) io.error(`${warning}\n`);
    await io.outputs.write(out, `${JSON.stringify(reading, null, 2)}\n`);
    if (values['json']) io.out(`${JSON.stringify(reading, null, 2)}\n`);
    else io.out(wordsOf(out, reading));
  },
};

async function fromPhoto(path: string, card: Card, values: OptionValues): Promise<PhotoReading> {
  const piecePath = values['piece'] as string | undefined;
  const piece = piecePath ? (await readPieceFile(piecePath)).piece : createPiece('', '');
  const chip = values['chip'] as string | undefined;
  const photo = await readRgba(path);
  return naming(path, () => readCardPhoto(photo, card, cardColors(piece, chip === undefined ? null : chipOf(chip))));
}

function chipOf(text: string): Lab {
  const parts = text.split(',');
  if (parts.length !== 3) throw new UsageError(`--chip: write it as L,a,b, got "${text}"`);
  return [
    numberOption('--chip', parts[0], 1, 100),
    numberOption('--chip', parts[1], -128, 128),
    numberOption('--chip', parts[2], -128, 128),
  ];
}

/** What was seen, from the options; null if there are none of them. */
function notesOf(values: OptionValues): EyeNotes | null {
  const list = (name: string) => (values[name] as string[] | undefined) ?? [];
  const pair = values['pair'] as string | undefined;
  if (list('seen').length + list('line').length === 0 && pair === undefined) return null;
  const ladders = list('seen').map((text) => {
    const words = new Map(
      text.split(',').map((part) => part.split('=').map((word) => word.trim()) as [string, string]),
    );
    const label = (key: string): number | null => {
      const word = words.get(key);
      return word === undefined ? null : numberOption(`--seen ${key}`, word, 1, 1000);
    };
    for (const key of words.keys()) {
      if (!['row', 'shows', 'clears', 'scorches'].includes(key)) {
        throw new UsageError(`--seen: "${key}" is not one of row, shows, clears, scorches`);
      }
    }
    const row = words.get('row');
    return {
      ...(row !== undefined && { ladder: row }),
      shows: label('shows'),
      clears: label('clears'),
      scorches: label('scorches'),
    };
  });
  const widths = Object.fromEntries(
    list('line').map((text) => {
      const [id, mm] = text.split('=');
      if (mm === undefined) throw new UsageError(`--line: write it as a3=0.08, got "${text}"`);
      return [id, numberOption(`--line ${id}`, mm, 0, 5)];
    }),
  );
  return { ladders, widths, pair: pair === undefined ? null : numberOption('--pair', pair, 1, 100) };
}

function wordsOf(out: string, reading: CardReading): string {
  if (reading.patches.length + reading.firsts.length + reading.lines.length === 0 && !reading.rowOffset) {
    throw new CliError('nothing could be read off the card');
  }
  const offset = reading.rowOffset ? `Rows burned backwards land ${reading.rowOffset.mm.toFixed(2)} mm off.\n` : '';
  return `Card ${reading.cardId} (${reading.kind}): ${reading.patches.length} patches, ${reading.firsts.length} firsts, ${reading.lines.length} lines.\n${offset}Written to ${out}.\n`;
}
