import { encodePieceFile } from '../piece/file.ts';
import { type CardFit, FIT_WISH, fitCards, openNumbers } from '../studies/calibrate/fit-card.ts';
import { ageCalibration } from '../studies/calibrate/shelf/shelf.ts';
import { parametersOf } from '../studies/sure/spread.ts';
import { parseCard } from '../vision/card/card.ts';
import { parseReading } from '../vision/card/reading.ts';
import type { Command } from './io.ts';
import { UsageError } from './options.ts';
import { naming, readPieceFile, readText } from './read-files.ts';

export const FIT: Command = {
  name: 'fit',
  operands: 'READING …',
  summary: 'Fit the numbers of a stack and machine to what was read off burned cards.',
  options: [
    { name: 'card', value: 'FILE', several: true, reads: true, help: 'the card of each reading, in the same order' },
    { name: 'piece', value: 'FILE', reads: true, help: 'the piece whose stack and machine are fitted' },
    { name: 'known', value: 'NAME', several: true, help: 'a number that was measured and stays, as coat0.thickness' },
    {
      name: 'changed',
      value: 'WHAT',
      several: true,
      help: 'batch (another tin) or machine (serviced): older cards weigh less',
    },
    { name: 'out', value: 'FILE', help: 'the calibrated piece, a .foreburn (default: calibrated.foreburn)' },
    { name: 'json', help: 'print numbers, spread, residuals and what was not measured' },
  ],
  async run(operands, values, io) {
    const cards = (values['card'] as string[] | undefined) ?? [];
    const piecePath = values['piece'] as string | undefined;
    if (operands.length === 0 || cards.length !== operands.length) {
      throw new UsageError('fit: give one or more readings, and the --card of each in the same order');
    }
    if (piecePath === undefined)
      throw new UsageError('fit: --piece is missing; it names the stack and machine that are fitted');
    const changed = (values['changed'] as string[] | undefined) ?? [];
    for (const what of changed) {
      if (what !== 'batch' && what !== 'machine')
        throw new UsageError(`--changed: must be batch or machine, got "${what}"`);
    }
    const out = (values['out'] as string | undefined) ?? 'calibrated.foreburn';
    await io.outputs.claim(out);
    const file = await readPieceFile(piecePath);
    const known = (values['known'] as string[] | undefined) ?? [];
    const names = parametersOf(file.piece).map(({ name }) => name);
    for (const name of known) {
      if (!names.includes(name))
        throw new UsageError(`--known: there is no number "${name}"; there are ${names.join(', ')}`);
    }
    const read = await Promise.all(
      operands.map(async (path, i) => {
        const [readingText, cardText] = [await readText(path), await readText(cards[i])];
        return {
          reading: naming(path, () => parseReading(readingText)),
          card: naming(cards[i], () => parseCard(cardText)),
        };
      }),
    );
    const start = ageCalibration(file.piece, {
      batch: changed.includes('batch'),
      machine: changed.includes('machine'),
    });
    const fit = naming(operands[0], () => fitCards(start, read, { ...FIT_WISH, known }));
    await io.outputs.write(out, encodePieceFile({ piece: fit.piece, images: file.images }));
    const { piece: _, ...report } = fit;
    if (values['json'])
      io.out(`${JSON.stringify({ file: out, ...report, certainty: fit.piece.certainty }, null, 2)}\n`);
    else io.out(wordsOf(out, fit));
  },
};

function wordsOf(out: string, fit: CardFit): string {
  const numbers = fit.numbers.map(
    ({ words, unit, before, value, low, high }) =>
      `${words}: ${show(value)}${unit && ` ${unit}`} (9 in 10: ${show(low)} to ${show(high)}; before ${show(before)})`,
  );
  const off = fit.residuals
    .filter(({ off: away }) => Math.abs(away) > 3.5)
    .map(
      ({ what, measured, fitted }) =>
        `${what} was read as ${show(measured)}, the fit says ${show(fitted)}: it hardly counted; look again.`,
    );
  const lines = [
    ...numbers,
    ...openNumbers(fit).map(
      ({ words, together, helps }) =>
        `Not measured${together ? ' apart' : ''}: ${words}; this would measure it: ${helps}.`,
    ),
    ...off,
    ...(fit.misfit > 2
      ? [`Measurements scatter ${fit.misfit.toFixed(1)} times as much as they should; the spread allows for it.`]
      : []),
    `Written to ${out}.`,
  ];
  return `${lines.join('\n')}\n`;
}

const show = (value: number): string => Number(value.toPrecision(3)).toString();
