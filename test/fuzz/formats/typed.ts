import { parseBatchList } from '../../../src/cli/batch-list.ts';
import { applyOptions, numberOption, parsePass } from '../../../src/cli/options.ts';
import { readPieceCode } from '../../../src/outputs/paper/piece-code.ts';
import { extraLines, extraWordsFault } from '../../../src/outputs/program/frame.ts';
import { createPiece } from '../../../src/piece/defaults.ts';
import { checkPiece } from '../../../src/piece/file.ts';
import type { Dice } from '../dice.ts';
import { bytesText, type Format, textBytes } from '../format.ts';
import { joined, spoilBytes } from '../spoil-bytes.ts';

const typed =
  (words: readonly string[], most = 12) =>
  (dice: Dice) => {
    const odd = [
      '',
      ' ',
      '-',
      '=',
      ',',
      '1e999',
      'NaN',
      'Infinity',
      '0x1F',
      '-0',
      '1e-400',
      '９',
      '\u0000',
      '\u2028',
      '"',
      '’',
      '(',
    ];
    const count = dice.chance(0.01) ? 20_000 : 1 + dice.below(most);
    const text = Array.from({ length: count }, () => (dice.chance(0.6) ? dice.pick(words) : dice.pick(odd))).join('');
    return { bytes: textBytes(text) };
  };
const PASS = [
  'light',
  'dark',
  'feed',
  'pitch',
  'heading',
  'focus',
  'screen',
  '=',
  '=',
  ',',
  '50',
  '7000',
  '0.1',
  'bayer-4',
];

/** The settings of a pass as they are typed on the command line: what is taken makes a piece that can be opened. */
export const options: Format = {
  make: typed(PASS, 9),
  take(bytes) {
    const text = bytesText(bytes);
    const applied = applyOptions(createPiece('', ''), { pass: [text] });
    checkPiece(JSON.parse(JSON.stringify(applied)));
    return { told: JSON.stringify(parsePass(text)) };
  },
};

export const numbers: Format = {
  make: typed(['1', '2', '.', '5', 'e', '-', '+', '1000'], 5),
  take(bytes) {
    const value = numberOption('--power-scale', bytesText(bytes), 1, 1_000_000);
    if (!(value >= 1 && value <= 1_000_000)) throw new Error(`${value} is beyond the range`);
    return { told: String(value) };
  },
};

const CELLS = [
  'photo',
  'name',
  'due',
  'quantity',
  'width',
  'paint',
  ',',
  ',',
  ';',
  '\t',
  '\n',
  '\r\n',
  'cat.jpg',
  '../barge.PNG',
  'kept.foreburn',
  '2031-05-02',
  '300',
  '"',
  '=1+1',
  'é',
];

/** A list of orders: what is taken can be worked on, all else is said row by row. */
export const orders: Format = {
  make(dice) {
    const { bytes } = typed(CELLS, 60)(dice);
    const head = textBytes(`photo,name,due,quantity,width\n${dice.chance(0.5) ? 'cat.jpg,' : ''}`);
    return { bytes: dice.chance(0.3) ? bytes : joined(head, dice.chance(0.2) ? spoilBytes(bytes, dice) : bytes) };
  },
  take(bytes) {
    const { rows, bad } = parseBatchList('list.csv', bytes, new Set(['Winter tin']));
    for (const { name, order, folder } of rows) {
      const piece = createPiece(name, 'photo.jpg');
      checkPiece({ ...piece, order: { ...piece.order, ...order } });
      if (!/^[\p{L}\p{N}-]+$/u.test(folder)) throw new Error(`${folder} is no name for a folder`);
    }
    if (new Set(rows.map(({ folder }) => folder)).size !== rows.length) throw new Error('two rows of one folder');
    return { told: JSON.stringify(rows), messages: bad.flatMap(({ faults }) => faults) };
  },
};

/** Lines of the maker's own for the machine, 200 characters at most. */
export const ownLines: Format = {
  make: typed(
    ['G4', 'P', '1', '.5', 'M8', 'M9', 'M0', '\n', ';', '|', ' ', 'G0', 'X1', 'S100', '(air', ')', '%', '!'],
    30,
  ),
  take(bytes) {
    const text = bytesText(bytes).slice(0, 200);
    const fault = extraWordsFault(text);
    return { told: fault ?? extraLines(text).join('\n'), messages: fault ? [fault] : [] };
  },
};

export const code: Format = {
  make: typed(['7KQ2', 'M0XB', '-', 'o', 'l', 'U', 'ß', 'ŉ'], 6),
  take(bytes) {
    const read = readPieceCode(bytesText(bytes));
    return { told: String(read), again: () => String(read === null ? null : readPieceCode(read)) };
  },
};
