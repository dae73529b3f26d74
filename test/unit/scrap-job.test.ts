import { strFromU8, unzipSync } from 'fflate';
import { beforeAll, describe, expect, test } from 'vitest';
import { CAUTIONS } from '../../src/base/cautions.ts';
import { focusWords, layingSentence, type ScrapBurn, scrapJob } from '../../src/outputs/program/scrap-job.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { CARD_PREPARATION, cardPiece } from '../../src/vision/card/card-piece.ts';
import { CARD_WISH, makeCard } from '../../src/vision/card/make-card.ts';
import { cardPicture } from '../../src/vision/card/picture.ts';
import { flatFilm } from '../helpers/burn.ts';

const plain = flatFilm(createPiece('test', 'test.png'));
const piece: Piece = { ...plain, placement: { ...plain.placement, xMm: 150, yMm: 120.5, turnRad: Math.PI / 12 } };
const card = makeCard('lines', piece, { ...CARD_WISH, widthMm: 60, heightMm: 45, steps: 8, patchMm: 5 });
const burn: ScrapBurn = {
  title: `Card ${card.id}`,
  name: 'card-7',
  piece: cardPiece(card, piece),
  photo: { key: 'card', picture: cardPicture(card), castless: null },
  before: CARD_PREPARATION,
  after: ['Read it.'],
  files: [{ name: 'card-7.json', bytes: Uint8Array.of(7) }],
};

describe('the archive of a burn on scrap', () => {
  const checked: string[] = [];
  let files: Record<string, Uint8Array>;
  let programs: number;
  let words: string;
  beforeAll(async () => {
    const check = async (bytes: Uint8Array) => void checked.push(strFromU8(bytes));
    const job = await scrapJob(burn, check);
    files = unzipSync(job.zip);
    programs = job.programs;
    words = strFromU8(files['READ ME.txt']);
    // The same card makes the same file on any day.
    expect((await scrapJob(burn, async () => {})).zip).toEqual(job.zip);
  });

  test('holds the lap, every program, the drawing and what goes along, each program read back', () => {
    const names = Array.from({ length: programs }, (_, i) => `card-7-program-${i + 1}.gcode`);
    expect(programs).toBe(burn.piece.passes.length);
    expect(Object.keys(files).sort()).toEqual(
      ['READ ME.txt', 'card-7-lap.gcode', 'card-7.json', 'placement.svg', ...names].sort(),
    );
    expect(checked).toEqual(['card-7-lap.gcode', ...names].map((name) => strFromU8(files[name])));
    expect(files['card-7.json']).toEqual(Uint8Array.of(7));
  });

  test('says where to lay it, then the lap, then the programs with minutes and focus, and the cautions before all of it', () => {
    const order = [
      ...CAUTIONS,
      '60 × 45 mm',
      '150 mm from the left and 120.5 mm from the front',
      'turned 15° counter-clockwise',
      'placement.svg',
      'card-7-lap.gcode',
      'card-7-program-1.gcode: ',
      `card-7-program-${programs}.gcode: `,
      'Read it.',
    ].map((part) => words.indexOf(part));
    expect(order).not.toContain(-1);
    expect(order).toEqual(order.toSorted((a, b) => a - b));
    const focus = new Set(burn.piece.passes.map(focusWords));
    expect(focus.size).toBeGreaterThan(1);
    for (const one of focus) expect(words).toContain(`focus ${one}`);
  });

  test('the drawing has the scrap where the sentence lays it', () => {
    const numbers = strFromU8(files['placement.svg']).match(/<path d="M([^"]*)Z" fill="#efe7db"/)![1];
    const corners = numbers.split('L').map((corner) => corner.split(' ').map(Number));
    const middle = [0, 1].map((axis) => corners.reduce((sum, corner) => sum + corner[axis], 0) / corners.length);
    expect(middle[0]).toBeCloseTo(150, 2);
    expect(piece.placement.bedHeightMm - middle[1]).toBeCloseTo(120.5, 2);
  });
});

test('where positions count from the picture the head is brought there', () => {
  const control = { ...piece.machine.control, zero: 'picture-centre' as const };
  const sentence = layingSentence({ ...piece, machine: { ...piece.machine, control } }, 'scrap');
  expect(sentence).toContain('bring the head over the middle of its picture');
  expect(sentence).not.toContain('from the left');
});
