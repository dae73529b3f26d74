import { describe, expect, test } from 'vitest';
import { savingWords } from '../../src/page/image/mask/MaskTable.tsx';
import { maskSaving } from '../../src/page/image/mask/mask-saving.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { BrushStroke, PictureSettings } from '../../src/piece/schema.ts';

const PHOTO = { width: 400, height: 300 };
const base = createPiece('x', 'y.png');
const [pass] = base.passes;
const feed = 7000 / 60;
const pieceWith = (picture: Partial<PictureSettings>, more: Partial<typeof pass> = {}) => ({
  ...base,
  slab: { ...base.slab, widthMm: 400, heightMm: 400 },
  picture: { ...base.picture, widthMm: 200, crop: 'rectangle' as const, ...picture },
  passes: [{ ...pass, feedMmPerS: feed, rowPitchMm: 0.1, headingRad: 0, rows: 'two-way' as const, ...more }],
});
/** Erases the right half: rows become 100 mm shorter. */
const rightHalf: BrushStroke = {
  does: 'erase',
  points: [
    [1, -0.5],
    [1, 1.3],
  ],
  radius: 0.5,
  hardness: 1,
};

describe('maskSaving', () => {
  test('the missing length over the feed, for all passes', () => {
    const piece = pieceWith({ strokes: [rightHalf] });
    const { savedS, nothing } = maskSaving(piece, PHOTO);
    expect(nothing).toBe(false);
    // 150 mm of rows at 0.1 mm.
    const closed = (1500 * 100) / feed;
    expect(savedS / closed).toBeCloseTo(1, 1);
    expect(maskSaving({ ...piece, passes: [piece.passes[0], piece.passes[0]] }, PHOTO).savedS).toBeCloseTo(
      2 * savedS,
      3,
    );
  });

  test('rows along the picture’s height are left out whole', () => {
    const { savedS } = maskSaving(pieceWith({ strokes: [rightHalf] }, { headingRad: Math.PI / 2 }), PHOTO);
    expect(savedS).toBeGreaterThan((1000 * 150) / feed);
  });

  test('nothing is saved without a mask, and none is left under one that covers all', () => {
    expect(maskSaving(pieceWith({}), PHOTO).savedS).toBeCloseTo(0, 6);
    const all = { ...rightHalf, radius: 1 };
    expect(maskSaving(pieceWith({ strokes: [all] }), PHOTO).nothing).toBe(true);
    // A trace that no one sees does not count as a picture.
    const middle: BrushStroke['points'] = [
      [0.5, -0.5],
      [0.5, 1.3],
    ];
    const faint: BrushStroke = { ...all, points: middle, radius: 0.92, hardness: 0.5 };
    expect(maskSaving(pieceWith({ strokes: [faint] }), PHOTO).nothing).toBe(true);
  });

  test('in words', () => {
    expect(savingWords(18 * 60 + 8)).toBe('About 18 minutes less than the full rectangle.');
    expect(savingWords(61)).toBe('About 1 minute less than the full rectangle.');
    expect(savingWords(32)).toBe('About 30 seconds less than the full rectangle.');
    expect(savingWords(3600 + 5 * 60)).toBe('About 1 hour 5 minutes less than the full rectangle.');
    expect(savingWords(0)).toMatch(/^As long as/);
  });
});
