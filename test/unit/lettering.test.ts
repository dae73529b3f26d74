import { describe, expect, test } from 'vitest';
import { areaMm2, boundsMm } from '../../src/base/geometry/outline.ts';
import { textOutlines } from '../../src/burn/lettering.ts';
import { createPreparation, frameDots, type Photo } from '../../src/burn/prepare.ts';
import { fillOutlines } from '../../src/image/letters/fill-outlines.ts';
import { outlineText } from '../../src/image/letters/outline-text.ts';
import { openMachineFile } from '../../src/outputs/program/machine-files.ts';
import { burnPerimeter, slabPerimeter } from '../../src/physics/bed/bed.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { burnFrame } from '../../src/piece/frame.ts';
import { LETTER_FONTS, LETTER_UNITS, type Lettering, type Piece } from '../../src/piece/schema.ts';

describe('outlines filled with coverage', () => {
  test('cover what they enclose, to a hundredth, wherever their edges fall', () => {
    const cover = new Float32Array(20 * 16);
    fillOutlines([[2.3, 3.25, 12.8, 3.25, 12.8, 9.5, 2.3, 9.5]], 20, 16, cover);
    expect(cover.reduce((sum, value) => sum + value, 0)).toBeCloseTo(10.5 * 6.25, 4);
    expect(cover[5 * 20 + 2]).toBeCloseTo(0.7, 5);
    expect(cover[3 * 20 + 6]).toBeCloseTo(0.75, 5);
    const round = new Float32Array(40 * 40);
    const circle = Array.from({ length: 400 }, (_, k) => [
      20 + 13.2 * Math.cos(k / 63.662),
      20 + 13.2 * Math.sin(k / 63.662),
    ]);
    fillOutlines([circle.flat()], 40, 40, round);
    expect(round.reduce((sum, value) => sum + value, 0) / (Math.PI * 13.2 ** 2)).toBeCloseTo(1, 2);
  });

  test('by winding: what overlaps is covered once, what runs the other way is a hole', () => {
    const square = (a: number, b: number) => [a, a, b, a, b, b, a, b];
    const hole = [4, 4, 4, 8, 8, 8, 8, 4];
    const cover = new Float32Array(144);
    fillOutlines([square(2, 10), hole], 12, 12, cover);
    expect(cover[5 * 12 + 5]).toBe(0);
    expect(cover[3 * 12 + 3]).toBeCloseTo(1, 6);
    const twice = new Float32Array(144);
    fillOutlines([square(2, 10), square(4, 8)], 12, 12, twice);
    expect(twice[5 * 12 + 5]).toBeCloseTo(1, 6);
    // What reaches beyond the grid is cut off, not wrapped round.
    const beyond = new Float32Array(144);
    fillOutlines([square(-5, 30)], 12, 12, beyond);
    expect(Math.min(...beyond)).toBeCloseTo(1, 6);
  });
});

const textOf = async (text: string, more: Partial<Extract<Lettering, { kind: 'text' }>> = {}) => {
  const font = more.font ?? 'fraunces';
  return {
    kind: 'text' as const,
    text,
    font,
    ...(await outlineText(text, font)),
    capMm: 10,
    spacing: 0,
    tone: 1,
    place: { along: 'line' as const, xMm: 0, yMm: 0, turnRad: 0 },
    ...more,
  };
};

describe('letters from fonts', () => {
  test.each(LETTER_FONTS)('%s has letters of west and middle Europe, capitals as tall as told', async (font) => {
    const line = await textOf('Hőß', { font });
    const { top, bottom } = boundsMm(
      textOutlines({ ...line, letters: line.letters.slice(0, 1) }, createPiece('', '').slab).flat(),
    );
    // A script's H swings out.
    expect(bottom - top).toBeGreaterThan(9.5);
    expect(bottom - top).toBeLessThan(font === 'great-vibes' ? 14 : 10.8);
    expect(line.letters.every(({ outlines, advance }) => outlines.length > 0 && advance > 0)).toBe(true);
  });

  test('what a font does not have is named; a pair is kerned', async () => {
    await expect(outlineText('a漢', 'fraunces')).rejects.toThrow(/“漢”/);
    const [pair, apart] = [await outlineText('AV', 'fraunces'), await outlineText('AH', 'fraunces')];
    expect(pair.letters[0].advance).toBeLessThan(apart.letters[0].advance - 20);
    expect((await outlineText('', 'fraunces')).letters).toEqual([]);
    expect(Math.max(...apart.letters.flatMap(({ outlines }) => outlines.flat()))).toBeLessThan(LETTER_UNITS);
  });
});

const slab = createPiece('', '').slab;

describe('a line of text on the slab', () => {
  test('stands about its place, turned counter-clockwise', async () => {
    const line = await textOf('HH');
    const flat = boundsMm(
      textOutlines({ ...line, place: { along: 'line', xMm: 30, yMm: 50, turnRad: 0 } }, slab).flat(),
    );
    expect(flat.bottom).toBeCloseTo(50, 1);
    expect(flat.top).toBeCloseTo(40, 1);
    expect((flat.left + flat.right) / 2).toBeCloseTo(30, 0);
    const up = boundsMm(
      textOutlines({ ...line, place: { along: 'line', xMm: 0, yMm: 0, turnRad: Math.PI / 2 } }, slab).flat(),
    );
    // Read from below upwards, heads to the left.
    expect(up.right).toBeCloseTo(0, 1);
    expect(up.left).toBeCloseTo(-10, 1);
  });

  test('along the rim keeps its distance, reads from left to right on both halves', async () => {
    const line = await textOf('HII');
    for (const [aroundRad, side] of [
      [0, 1],
      [Math.PI, -1],
    ]) {
      const outlines = textOutlines({ ...line, place: { along: 'rim', rimMm: 8, aroundRad } }, slab);
      const middle = outlines.map((outline) => boundsMm(outline)).map(({ left, right }) => (left + right) / 2);
      // H has one outline here, so the first is left of the last.
      expect(middle[0]).toBeLessThan(middle.at(-1)!);
      const all = boundsMm(outlines.flat());
      expect((all.left + all.right) / 2).toBeCloseTo(0, 0);
      const outermost = side > 0 ? all.bottom : -all.top;
      expect(slab.heightMm / 2 - outermost).toBeGreaterThan(7.4);
      expect(slab.heightMm / 2 - outermost).toBeLessThan(8.6);
    }
    const wide = await textOf('HII', { spacing: 1 });
    const reach = (one: typeof line) => {
      const { left, right } = boundsMm(textOutlines(one, slab).flat());
      return right - left;
    };
    expect(reach(wide) - reach(line)).toBeCloseTo(20, 1);
    expect(textOutlines({ ...line, place: { along: 'rim', rimMm: 400, aroundRad: 0 } }, slab)).toEqual([]);
  });
});

describe('lettering that is burned', () => {
  const grey: Photo = {
    key: 'grey',
    picture: { width: 40, height: 30, luminance: new Float32Array(1200).fill(0.2), alpha: null },
    castless: null,
  };
  const piece = (lettering: Lettering[], more: Partial<Piece['picture']> = {}): Piece => {
    const made = createPiece('', '');
    return { ...made, picture: { ...made.picture, crop: 'rectangle', widthMm: 80, lettering, ...more } };
  };
  const burned = (one: Piece, pitchMm = 0.5) => createPreparation().tone(grey, one, pitchMm, one.picture.tone);

  test('is walked round with the picture: a box round both, or the slab’s edge', async () => {
    const place = { along: 'line' as const, xMm: 0, yMm: 60, turnRad: 0 };
    const lettered = piece([await textOf('HOLLIN', { place })]);
    const { top, bottom } = boundsMm(burnPerimeter(lettered, grey.picture));
    expect(top).toBeCloseTo(-30, 6);
    // The line's feet, below the picture's own edge at 30.
    expect(bottom).toBeGreaterThan(60);
    expect(bottom).toBeLessThan(61);
    const rim = piece([await textOf('HOLLIN', { place: { along: 'rim', rimMm: 8, aroundRad: 0 } })]);
    expect(burnPerimeter(rim, grey.picture)).toEqual(slabPerimeter(rim.slab));
    expect(burnPerimeter(piece([]), grey.picture)).toHaveLength(4);
  });

  test('is in the drawing, and the reference mark keeps clear of it', async () => {
    const bordered = piece([{ kind: 'border', follows: 'rim', distanceMm: 22, lineMm: 3, tone: 1 }]);
    const [plainMark, mark] = await Promise.all(
      [piece([]), bordered].map(async (one) => {
        const { promise } = await openMachineFile({ kind: 'mark' }, one, grey);
        const { left, right, near, far } = promise!.light!;
        const { xMm, yMm } = one.placement;
        return Math.hypot((left + right) / 2 - xMm, (near + far) / 2 - yMm);
      }),
    );
    // Without the border it lies midway to the rim, which is where the border runs now.
    const middleOfBorder = 120 - 22;
    expect(Math.abs(plainMark - middleOfBorder)).toBeLessThan(25);
    expect(Math.abs(mark - plainMark)).toBeGreaterThan(3);
    const line = await textOf('HOLLIN', { place: { along: 'line', xMm: 0, yMm: 60, turnRad: 0 } });
    const { parts } = await openMachineFile({ kind: 'drawing' }, piece([line]), grey);
    const svg = [...parts].map(({ bytes }) => Buffer.from(bytes).toString()).join('');
    expect(svg.match(/<path id="lettering-1" d="[^"]+"/)?.[0].match(/M/g)).toHaveLength(
      textOutlines(line, slab).length,
    );
  });

  test('lies beside the picture too: the frame grows about the picture’s middle, the picture’s own dots stay', async () => {
    const plain = piece([]);
    const line = await textOf('HOLLIN', { place: { along: 'line', xMm: 0, yMm: 60, turnRad: 0 }, tone: 0.9 });
    const lettered = piece([line]);
    expect(burnFrame(plain, grey.picture)).toEqual({ widthMm: 80, heightMm: 60 });
    const frame = frameDots(lettered, grey.picture, 0.5);
    expect(frame.own).toEqual({ width: 160, height: 120 });
    expect(frame.height).toBeGreaterThan(2 * 119);
    const [before, after] = [burned(plain), burned(lettered)];
    for (let y = 0; y < 120; y += 7) {
      for (let x = 0; x < 160; x += 7) {
        const at = (y + frame.top) * frame.width + x + frame.left;
        expect(after.lightness[at]).toBe(before.lightness[y * 160 + x]);
        expect(after.mask[at]).toBe(255);
      }
    }
    // As much is burned as the letters enclose.
    let letters = 0;
    for (let y = frame.top + 120; y < frame.height; y++) {
      for (let x = 0; x < frame.width; x++) {
        const at = y * frame.width + x;
        letters += after.mask[at] / 255;
        if (after.mask[at] > 0) expect(after.lightness[at]).toBeCloseTo(0.9, 5);
      }
    }
    const outlines = textOutlines(line, slab);
    expect(letters * 0.25).toBeGreaterThan(0.5 * outlines.reduce((sum, outline) => sum + areaMm2(outline), 0));
    // Off the middle it grows to both sides, and the picture stays in it.
    const moved = frameDots(piece([line], { offsetYMm: -20 }), grey.picture, 0.5);
    expect(moved.top).toBeGreaterThan(frame.top + 35);
  });

  test('over the picture takes its tone; beyond the slab nothing is burned', async () => {
    const line = await textOf('I', { capMm: 30, tone: 1, place: { along: 'line', xMm: 0, yMm: 15, turnRad: 0 } });
    const { lightness, mask, width, height } = burned(piece([line]));
    expect(lightness[(height / 2) * width + width / 2]).toBeCloseTo(1, 5);
    expect(mask[(height / 2) * width + width / 2]).toBe(255);
    const beyond = await textOf('HHHHHH', { capMm: 60, place: { along: 'line', xMm: 0, yMm: 30, turnRad: 0 } });
    const frame = burnFrame(piece([beyond]), grey.picture);
    expect(frame.widthMm).toBeLessThanOrEqual(slab.widthMm + 1.001);
    const wide = burned(piece([beyond]));
    expect(wide.mask[Math.round(wide.height / 2) * wide.width]).toBe(0);
  });

  test('a border is a line of even width: round the picture with its corners, or along the rim', () => {
    const border = { kind: 'border' as const, follows: 'picture' as const, distanceMm: 6, lineMm: 2, tone: 1 };
    const round = burned(piece([border]), 0.25);
    const inside = frameDots(piece([border]), grey.picture, 0.25);
    const picture = inside.own.width * inside.own.height;
    const line = round.mask.reduce((sum, value) => sum + value / 255, 0) - picture;
    expect(line * 0.0625).toBeCloseTo(94 * 74 - 90 * 70, 0);
    const rim = burned(piece([{ ...border, follows: 'rim' }], { widthMm: 20 }), 0.25);
    const own = frameDots(piece([{ ...border, follows: 'rim' }], { widthMm: 20 }), grey.picture, 0.25).own;
    const along = (rim.mask.reduce((sum, value) => sum + value / 255, 0) - own.width * own.height) * 0.0625;
    // Length of the line six inside the oval, by Ramanujan, times its width.
    const [a, b] = [144, 114];
    const length = Math.PI * (3 * (a + b) - Math.sqrt((3 * a + b) * (a + 3 * b)));
    expect(along / (2 * length)).toBeCloseTo(1, 1);
  });

  test('where burning darkens, a letter on bare wood is dark on light', async () => {
    const line = await textOf('I', { capMm: 30, tone: 0, place: { along: 'line', xMm: 0, yMm: 80, turnRad: 0 } });
    const bare = piece([line]);
    const wood = { ...bare, stack: { ...bare.stack, coats: [] } };
    const { lightness, mask, width, height } = burned(wood);
    const at = (height / 2 + 2 * 65) * width + width / 2;
    expect(mask[at]).toBe(255);
    expect(lightness[at]).toBeCloseTo(0, 5);
    expect(mask[at - 60]).toBe(0);
  });
});
