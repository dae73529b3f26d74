import { describe, expect, test } from 'vitest';
import { createPreparation } from '../../src/burn/prepare.ts';
import type { Picture } from '../../src/image/picture.ts';
import { castlessPicture } from '../../src/image/repair/fade.ts';
import { NO_REPAIR } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';

const photo = pictureOf(120, 80, (x, y) => 0.25 + 0.1 * Math.sin(x / 9) * Math.cos(y / 7));
let named = 0;
const tone = (piece: Piece, picture = photo, castless: Picture | null = null) => {
  named++;
  return createPreparation().tone({ key: `p${named}`, picture, castless }, piece, 0.5, piece.picture.tone);
};
const piece = (more: Partial<Piece['picture']>): Piece => {
  const plain = plainPiece(120, { rowPitchMm: 0.5 });
  return { ...plain, picture: { ...plain.picture, ...more } };
};

describe('the mask of a prepared picture', () => {
  test('falls off towards the edge of its crop, to the coat’s own tone', () => {
    const { mask } = tone(piece({ fallOffMm: 10, crop: 'oval' }));
    const row = mask.subarray(40 * 120, 41 * 120);
    expect(row[60]).toBe(255);
    expect(row[1]).toBeLessThan(20);
    for (let x = 1; x <= 60; x++) expect(row[x]).toBeGreaterThanOrEqual(row[x - 1]);
    expect([...mask.subarray(0, 5)]).toEqual([0, 0, 0, 0, 0]);
  });

  test('on bare wood it falls off to the light end, where nothing is burned', () => {
    const bare = { ...piece({ fallOffMm: 10 }), stack: { ...piece({}).stack, coats: [] } };
    const { mask, lightness } = tone(bare);
    expect(new Set(mask)).toEqual(new Set([0, 255]));
    expect(lightness[40 * 120 + 60]).toBeCloseTo(tone(piece({})).lightness[40 * 120 + 60], 6);
    expect(lightness[40 * 120 + 1]).toBeGreaterThan(0.95);
  });

  test('the brush takes away and gives back; what lies outside the crop stays away', () => {
    const erase = { does: 'erase', points: [[0.5, 0.33]], radius: 0.1, hardness: 1 } as const;
    const restore = { ...erase, does: 'restore', radius: 0.05 } as const;
    const at = (mask: Uint8Array, x: number, y: number) => mask[y * 120 + x];
    const { mask } = tone(piece({ strokes: [{ ...erase, points: [[0.5, 0.33]] }] }));
    expect([at(mask, 60, 40), at(mask, 60, 49), at(mask, 90, 40)]).toEqual([0, 0, 255]);
    const strokes = [erase, restore].map((stroke) => ({ ...stroke, points: [[0.5, 0.33]] as [number, number][] }));
    const back = tone(piece({ strokes })).mask;
    expect([at(back, 60, 40), at(back, 60, 49)]).toEqual([255, 0]);
    const corner = [{ ...restore, points: [[0, 0]] as [number, number][], radius: 0.3 }];
    expect(at(tone(piece({ strokes: corner, crop: 'oval' })).mask, 1, 1)).toBe(0);
  });

  test('turns with the picture', () => {
    const strokes = [{ does: 'erase', points: [[0.9, 0.33]], radius: 0.06, hardness: 1 } as const].map((one) => ({
      ...one,
      points: [[0.9, 0.33]] as [number, number][],
    }));
    const { mask, width, height } = tone(piece({ strokes, rotationRad: Math.PI / 2 }));
    expect([width, height]).toEqual([80, 120]);
    // Its right end is now at the far edge.
    expect([mask[12 * 80 + 40], mask[108 * 80 + 40]]).toEqual([0, 255]);
  });
});

describe('repair of an old print', () => {
  const spread = (values: Float32Array) => Math.max(...values) - Math.min(...values);

  test('nothing asked, nothing done', () => {
    expect(tone(piece({})).lightness).toEqual(tone(piece({ repair: NO_REPAIR })).lightness);
  });

  test('lifts fading, more with more strength', () => {
    const none = NO_REPAIR;
    const [before, half, full] = [0, 0.5, 1].map((fade) =>
      spread(tone(piece({ repair: { ...none, fade } })).lightness),
    );
    expect(half).toBeGreaterThan(1.5 * before);
    expect(full).toBeGreaterThan(1.2 * half);
    expect(full).toBeGreaterThan(0.95);
  });

  test('takes a cast away as far as asked, and only where there are colours', () => {
    const clean = pictureOf(120, 80, () => 0.8);
    const at = (cast: number, castless: Picture | null) =>
      tone(piece({ repair: { ...NO_REPAIR, cast } }), photo, castless).lightness[4000];
    expect(at(1, clean)).toBeCloseTo(tone(piece({}), clean).lightness[4000], 4);
    expect(at(0.5, clean)).toBeGreaterThan(at(0, clean) + 0.05);
    expect(at(1, null)).toBe(at(0, clean));
  });

  test('a grey photograph has no cast to take; a yellowed one gets its tones back', () => {
    const pixels = (tint: readonly number[]) => ({
      width: 64,
      height: 4,
      channels: 3 as const,
      data: Uint8Array.from({ length: 64 * 4 * 3 }, (_, i) => (20 + 3 * (Math.floor(i / 3) % 64)) * tint[i % 3]),
    });
    expect(castlessPicture(pixels([1, 1, 1]))).toBeNull();
    const castless = castlessPicture(pixels([1, 0.85, 0.6]));
    expect(castless?.luminance[63]).toBeGreaterThan(0.97);
    expect(castless?.luminance[0]).toBeLessThan(0.01);
  });

  test('fills a scratch and leaves the rest', () => {
    const scratched = pictureOf(120, 80, (x, y) =>
      y === 37 && x > 20 && x < 100 ? 0.95 : photo.luminance[y * 120 + x],
    );
    const repair = { ...NO_REPAIR, scratches: 1 };
    const mended = tone(piece({ repair }), scratched).lightness;
    const truth = tone(piece({})).lightness;
    for (let x = 25; x < 95; x += 7) expect(Math.abs(mended[37 * 120 + x] - truth[37 * 120 + x])).toBeLessThan(0.03);
    expect(Math.abs(mended[20 * 120 + 60] - truth[20 * 120 + 60])).toBeLessThan(1e-4);
  });
});
