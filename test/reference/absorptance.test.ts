import { describe, expect, test } from 'vitest';
import { coatAbsorptance, withTypicalAbsorptances, woodAbsorptance } from '../../src/physics/material/layers.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

const BROWN = [30, 7, 9] as [number, number, number];
const WHITE = [95, 0, 2] as [number, number, number];

describe('published absorptances', () => {
  test('brown and white matt paint at 450 nm: 1 − R of the chart averages "dark skin" and "white 9.5" (BabelColor)', () => {
    expect(coatAbsorptance(BROWN, 450)).toBeCloseTo(1 - 0.062, 3);
    expect(coatAbsorptance(WHITE, 450)).toBeCloseTo(1 - 0.884, 3);
  });

  test('white paint at 405 nm lies on the edge between R(400) = 0.423 and R(410) = 0.660 (the same chart)', () => {
    expect(coatAbsorptance(WHITE, 405)).toBeGreaterThan(1 - 0.66);
    expect(coatAbsorptance(WHITE, 405)).toBeLessThan(1 - 0.423);
  });

  test('sprayed lacquers of any colour at 10.6 µm: emissivity 0.92–0.94, planed oak 0.90 (FLIR, user’s manual, emissivity table 35.1)', () => {
    for (const color of [BROWN, WHITE]) {
      expect(coatAbsorptance(color, 10600)).toBeGreaterThanOrEqual(0.92);
      expect(coatAbsorptance(color, 10600)).toBeLessThanOrEqual(0.94);
    }
    expect(woodAbsorptance(10600)).toBeCloseTo(0.9, 6);
  });

  test('wood takes up more the shorter the visible wave: Fukuta et al., J. Wood Sci. 62 (2016)', () => {
    const order = [405, 450, 532, 1064].map(woodAbsorptance);
    expect([...order].sort((a, b) => b - a)).toEqual(order);
    // Beyond the table the nearest entry holds.
    expect(woodAbsorptance(200)).toBe(woodAbsorptance(405));
    expect(woodAbsorptance(12000)).toBe(woodAbsorptance(10600));
  });
});

describe('a light undercoat under a burn about twice as strong as needed to clear', () => {
  const light = pictureOf(40, 40, () => 1);
  const at = (wavelengthNm: number): Piece => {
    const piece = flatFilm(plainPiece(40, { lightEndPower: 0.7, feedMmPerS: 60 }));
    const source = { ...piece.machine.source, wavelengthNm };
    return withTypicalAbsorptances({ ...piece, machine: { ...piece.machine, source } });
  };
  const undercoatLeft = async (wavelengthNm: number): Promise<number> => {
    const { residueUm } = await burn(at(wavelengthNm), light);
    return residueUm[1][20 * 40 + 20];
  };

  test('reflects a blue or near-infrared beam and is spared', async () => {
    for (const nm of [450, 532, 1064]) expect(await undercoatLeft(nm), `${nm} nm`).toBe(50);
  });

  test('does not stop a 10.6 µm beam', async () => {
    // A good part of its 50 µm is gone.
    expect(await undercoatLeft(10600)).toBeLessThan(40);
  });
});
