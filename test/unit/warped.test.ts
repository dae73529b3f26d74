import { describe, expect, test } from 'vitest';
import { spotRadii } from '../../src/physics/beam/gaussian.ts';
import { faceHeightMm, faceRangeMm } from '../../src/physics/raster/pass-raster.ts';
import { DEFAULT_MACHINE, DEFAULT_PASS, DEFAULT_SLAB } from '../../src/piece/defaults.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

describe('a slab that is not flat', () => {
  const slab = { ...DEFAULT_SLAB, widthMm: 200, heightMm: 100, bowMm: 2, domeMm: 0.5 };

  test('the middle lies over the ends by the bow and over the rim by the dome', () => {
    expect(faceHeightMm(slab, 0, 0)).toBe(-0);
    expect(faceHeightMm(slab, 100, 0)).toBeCloseTo(-2.5, 9);
    expect(faceHeightMm(slab, 0, -50)).toBeCloseTo(-0.5, 9);
    const [low, high] = faceRangeMm(slab, 0, 0, 200, 100);
    expect(low).toBeCloseTo(-3, 9);
    expect(high).toBe(0);
    expect(faceRangeMm({ ...slab, bowMm: -2, domeMm: 0 }, 0, 0, 200, 100)[1]).toBeCloseTo(2, 9);
  });

  test('a place above the focus has the spot of one that much out of focus', () => {
    const source = { ...DEFAULT_MACHINE.source, spotAcrossMm: 0.05, spotAlongMm: 0.05 };
    expect(spotRadii(source, DEFAULT_PASS, 1.5)).toEqual(spotRadii(source, { ...DEFAULT_PASS, focusOffsetMm: -1.5 }));
    expect(spotRadii(source, { ...DEFAULT_PASS, focusOffsetMm: 1.5 }, 1.5)).toEqual(spotRadii(source, DEFAULT_PASS));
  });

  test('lines come out wider and shallower where the face bends away, as in a pass out of focus by that much', async () => {
    // One lit row in eight, so that a row's own line is seen.
    const lines = pictureOf(160, 33, (_, y) => (y % 8 === 4 ? 1 : 0));
    const base = flatFilm(plainPiece(160, { lightEndPower: 0.3, darkEndPower: 0, rowPitchMm: 0.1, feedMmPerS: 60 }));
    const bent = { ...base, slab: { ...base.slab, widthMm: 32, heightMm: 1000, bowMm: 8 } };
    const warped = await burn(bent, lines);
    const flat = await burn({ ...base, slab: { ...base.slab, widthMm: 32 } }, lines);
    const depth = (fields: typeof flat, x: number) => 25 - fields.residueUm[0][20 * 160 + x];
    expect(depth(warped, 80)).toBeCloseTo(depth(flat, 80), 1);
    // Half way to the ends: 8 mm · 0.25 below the focus.
    const out = { ...base, slab: { ...base.slab, widthMm: 32 }, passes: [{ ...base.passes[0], focusOffsetMm: 2 }] };
    const defocused = await burn(out, lines);
    expect(depth(warped, 2)).toBeLessThan(depth(flat, 2) - 1);
    // The nearest of a dozen steps of focus.
    expect(Math.abs(depth(warped, 2) - depth(defocused, 2))).toBeLessThan(1);
  });
});
