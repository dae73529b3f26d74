import { describe, expect, test } from 'vitest';
import { createPreparation } from '../../src/burn/prepare.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece } from '../../src/piece/file.ts';
import { burnSpread } from '../../src/piece/frame.ts';
import { packPlaces, packTiles, unpackTiles } from '../../src/piece/tiles.ts';

const photo = {
  key: 'even',
  picture: { width: 40, height: 20, luminance: new Float32Array(800).fill(0.5), alpha: null },
  castless: null,
};

describe('a pass that burns in some places only', () => {
  test('tiles come back as they were packed', () => {
    const values = Uint8Array.from({ length: 6 }, (_, i) => i * 51);
    expect(unpackTiles(packTiles(3, 2, values))).toEqual(values);
  });

  test('only its right lower quarter burns, and its rows travel no further', () => {
    const piece = {
      ...createPiece('Trial', 'photo'),
      picture: { ...createPiece('Trial', 'photo').picture, widthMm: 40 },
    };
    const [whole] = piece.passes;
    const pass = { ...whole, rowPitchMm: 0.5, headingRad: 0, only: packPlaces(2, 2, Uint8Array.of(0, 0, 0, 255)) };
    const { mask, raster, spans } = createPreparation().screen(photo, { ...piece, passes: [pass] }, pass, () => true);
    const burns = (x: number, y: number) => mask[y * raster.columns + x] > 0;
    const { columns, rows } = raster;
    expect([burns(columns / 2 - 1, rows / 2), burns(columns / 2, rows / 2 - 1), burns(columns / 2, rows / 2)]).toEqual([
      false,
      false,
      true,
    ]);
    expect(spans.first[rows / 2]).toBeGreaterThanOrEqual(columns / 2);
    expect(spans.end[0]).toBeLessThanOrEqual(spans.first[0]);
  });

  test('it hits the same dots there as a pass everywhere, so that it falls on the pass before', () => {
    const piece = createPiece('Trial', 'photo');
    const small = { ...piece, picture: { ...piece.picture, widthMm: 40 } };
    const whole = { ...piece.passes[0], rowPitchMm: 0.5 };
    const pass = { ...whole, only: packPlaces(2, 2, Uint8Array.of(255, 0, 0, 255)) };
    const { screen } = createPreparation();
    const [all, some] = [whole, pass].map((one) => screen(photo, small, one, () => true));
    expect(some.levels).toEqual(all.levels);
    expect(some.mask).not.toEqual(all.mask);
  });

  test('it burns in the same places when lettering comes to stand beside the picture, and not on the lettering', async () => {
    const piece = createPiece('Trial', 'photo');
    const plain = { ...piece, picture: { ...piece.picture, widthMm: 40 } };
    const border = { kind: 'border' as const, follows: 'rim' as const, distanceMm: 6, lineMm: 2, tone: 1 };
    const lettered = { ...plain, picture: { ...plain.picture, lettering: [border] } };
    const pass = { ...piece.passes[0], rowPitchMm: 0.5, only: packPlaces(2, 2, Uint8Array.of(0, 0, 0, 255)) };
    const burned = [plain, lettered].map((one) => {
      const { mask, raster } = createPreparation().screen(photo, one, pass, () => true);
      return Array.from(mask, (value, i) => [i % raster.columns, Math.floor(i / raster.columns), value] as const)
        .filter(([, , value]) => value > 0)
        .map(([x, y]) => `${x - raster.columns / 2} ${y - raster.rows / 2}`);
    });
    expect(burned[0].length).toBeGreaterThan(300);
    expect(burned[1]).toEqual(burned[0]);
    // A pass planned with the border there covers it too.
    const spread = burnSpread(lettered, photo.picture);
    const all = { ...pass, only: { ...packTiles(2, 2, Uint8Array.of(255, 255, 255, 255)), ...spread } };
    const [wide, everywhere] = [all, { ...all, only: null }].map(
      (one) => createPreparation().screen(photo, lettered, one, () => true).mask,
    );
    expect(wide).toEqual(everywhere);
  });

  test('tiles that lack bytes are refused', () => {
    const piece = createPiece('Trial', 'photo');
    const broken = {
      ...piece,
      passes: [{ ...piece.passes[0], only: { columns: 4, rows: 4, bytes: 'AAAA', across: 1, down: 1 } }],
    };
    expect(() => checkPiece(broken)).toThrow('as many bytes as there are columns times rows');
  });
});
