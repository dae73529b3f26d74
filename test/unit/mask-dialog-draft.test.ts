import { describe, expect, test } from 'vitest';
import {
  brushOf,
  createMaskPixels,
  draw,
  redoDraft,
  startDraft,
  undoDraft,
  withMatte,
} from '../../src/page/image/mask/MaskTable.tsx';
import type { BrushStroke } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';

const dab = (x: number): BrushStroke => ({ does: 'erase', points: [[x, 0.2]], radius: 0.05, hardness: 1 });

describe('the mask’s draft', () => {
  test('goes back to where it began and forth again, and a new step ends what could be redone', () => {
    const start = startDraft({ strokes: [dab(0.1)], marks: [], matte: null });
    const one = draw(start, { strokes: [...start.strokes, dab(0.2)] });
    const two = draw(one, { strokes: [] });
    expect(undoDraft(two)?.strokes).toBe(one.strokes);
    const back = undoDraft(undoDraft(two)!)!;
    expect(back.strokes).toBe(start.strokes);
    expect(undoDraft(back)).toBeNull();
    expect(redoDraft(redoDraft(back)!)!.strokes).toEqual([]);
    expect(redoDraft(draw(back, { strokes: [dab(0.5)] }))).toBeNull();
  });

  test('what marks led to belongs to these very marks, and comes back with them', () => {
    const mark = { stays: true, points: [[0.5, 0.5]] as [number, number][], radius: 0.02 };
    const marked = draw(startDraft({ strokes: [], marks: [], matte: null }), { marks: [mark], matte: null });
    const found = packTiles(2, 2, new Uint8Array(4));
    const done = withMatte(marked, marked.marks, found);
    expect(done.matte).toBe(found);
    expect(done.past).toHaveLength(1);
    const more = draw(done, { marks: [mark, mark], matte: null });
    expect(withMatte(more, marked.marks, found)).toBe(more);
    expect(undoDraft(more)?.matte).toBe(found);
    expect(undoDraft(undoDraft(more)!)?.matte).toBeNull();
  });
});

describe('createMaskPixels', () => {
  const picture = { widthMm: 100, crop: 'oval', fallOffMm: 0, cut: null } as const;
  test('draws on from what it has, and anew after an undo', () => {
    const pixels = createMaskPixels(picture, 100, 60);
    const strokes = [dab(0.3), dab(0.6)];
    const fresh = () => createMaskPixels(picture, 100, 60);
    pixels.paint([strokes[0]]);
    expect(pixels.paint(strokes)).toEqual(fresh().paint(strokes));
    expect(pixels.paint([strokes[0]])).toEqual(fresh().paint([strokes[0]]));
    expect(pixels.paint([strokes[1]])).toEqual(fresh().paint([strokes[1]]));
    expect(pixels.paint([])).toEqual(fresh().paint([]));
  });
  test('the crop shows what no brush gives back', () => {
    const { crop } = createMaskPixels(picture, 100, 60);
    expect([crop[0], crop[30 * 100 + 50]]).toEqual([0, 255]);
  });
});

test('a brush in mm becomes shares of the width; a rim wider than the brush fades from its middle', () => {
  expect(brushOf({ does: 'erase', sizeMm: 20, softMm: 2 }, 200)).toEqual({
    does: 'erase',
    radius: 0.05,
    hardness: 0.8,
  });
  expect(brushOf({ does: 'restore', sizeMm: 2, softMm: 5 }, 200).hardness).toBe(0);
  expect(brushOf({ does: 'erase', sizeMm: 0.5, softMm: 0 }, 3000).radius).toBe(0.0005);
});
