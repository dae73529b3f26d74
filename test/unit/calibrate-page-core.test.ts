import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkReading } from '../../src/studies/calibrate/check-reading.ts';
import { fitCards } from '../../src/studies/calibrate/fit-card.ts';
import { createCardOracle } from '../../src/studies/calibrate/predict-card.ts';
import { firstPower } from '../../src/studies/calibrate/propose.ts';
import { locateByCorners } from '../../src/vision/card/locate-card.ts';
import { makeCard } from '../../src/vision/card/make-card.ts';
import { cardColors, readCardPhoto } from '../../src/vision/card/read-photo.ts';
import { slabOutcome } from '../../src/vision/card/reading.ts';
import { flatFilm } from '../helpers/burn.ts';
import { renderCardPhoto, SHOT, trueMarks } from '../helpers/render-card-photo.ts';

const piece = flatFilm(createPiece('test', 'test.png'));

describe('a finished slab as a reading', () => {
  const { passes } = piece;

  test('is accepted by the fit, and moves the clearing power to where it was seen', () => {
    const clearingOf = (of: typeof piece) =>
      firstPower(of, 'clears', slabOutcome(of, passes, 'clear').card.patches[0], createCardOracle(of));
    const before = clearingOf(piece);
    // Burned at three quarters of what the numbers say clears, and clear all the same: the paint clears earlier.
    const early = [{ ...passes[0], lightEndPower: 0.75 * before }];
    const clear = slabOutcome(piece, early, 'clear');
    checkReading(clear.card, clear.reading);
    expect(clearingOf(fitCards(piece, [clear]).piece)).toBeLessThan(0.97 * before);
    // Burned well above it and still covered: later.
    const late = [{ ...passes[0], lightEndPower: Math.min(1, 1.1 * before) }];
    expect(clearingOf(fitCards(piece, [slabOutcome(piece, late, 'covered')]).piece)).toBeGreaterThan(1.03 * before);
  }, 120_000);

  test('passes that leave the light areas alone tell nothing', () => {
    expect(() => slabOutcome(piece, [{ ...passes[0], lightEndPower: 0 }], 'clear')).toThrow(/show nothing/);
  });
});

describe('corners that were pointed out', () => {
  test('read the card where its own marks were not found, but never as another card', async () => {
    const card = makeCard('check-strip', piece);
    const colors = cardColors(piece);
    const grey = (i: number): [number, number, number] => [30 + 6 * i, 0, 4];
    const patches = new Map(card.patches.map(({ id }, i) => [id, grey(i % 8)]));
    const looks = { paint: colors.paint, reference: colors.bare, marks: colors.bare, patches, lines: new Map() };
    const shot = {
      ...SHOT,
      width: 900,
      height: 660,
      noise: 0,
      blurPx: 0.6,
      jpegQuality: null,
      light: [0.1, 0.1] as const,
    };
    const photo = await renderCardPhoto(card, looks, shot);
    const corners = trueMarks(card, shot);
    const { reading } = readCardPhoto(photo, card, colors, locateByCorners(photo, corners, card));
    const off = reading.patches.map(({ id, lab }) => Math.abs(lab[0] - patches.get(id)![0]));
    expect(Math.max(...off)).toBeLessThan(3);

    // Corners that lie by 6 mm read other places.
    const aside = corners.map(([x, y]): [number, number] => [x + 45, y + 45]);
    const wrong = () => readCardPhoto(photo, card, colors, locateByCorners(photo, aside, card)).reading.patches;
    let worst = Number.POSITIVE_INFINITY;
    try {
      worst = Math.max(...wrong().map(({ id, lab }) => Math.abs(lab[0] - patches.get(id)![0])));
    } catch {
      // Refused: as good.
    }
    expect(worst).toBeGreaterThan(5);

    expect(() => locateByCorners(photo, corners, { ...card, id: card.id ^ 1 })).toThrow(/not card/);
    expect(() => locateByCorners(photo, [corners[0], corners[0], corners[2], corners[3]], card)).toThrow(
      /make no card/,
    );
  }, 60_000);
});
