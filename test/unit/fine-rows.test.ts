import { expect, test } from 'vitest';
import type { Piece } from '../../src/piece/schema.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';

const ROWS = 24;
/** Rows of the picture whose residue is compared: away from its edges. */
const FROM = 8;
const TO = 16;
const PITCH_MM = 25.4 / 300;
const FINER = 9;

/** Mean film left of all coats, µm, over the same part of the slab. */
async function meanLeftUm(piece: Piece, cellsPerRow: number): Promise<number> {
  // Every other row is dark: beside one that burns, the dose falls off steeply within a cell.
  const { width, residueUm } = await burn(
    piece,
    pictureOf(ROWS, ROWS, (_, y) => y % 2),
  );
  let sum = 0;
  for (let y = FROM * cellsPerRow; y < TO * cellsPerRow; y++)
    for (let x = FROM * cellsPerRow; x < TO * cellsPerRow; x++)
      for (const layer of residueUm) sum += layer[y * width + x];
  return sum / ((TO - FROM) * cellsPerRow) ** 2;
}

/** No published source: the same law, sampled more finely. */
test.each([0.5, 0.62, 0.8, 1])(
  'what stays at %f of full power is what a grid nine times as fine gives',
  async (lightEndPower) => {
    const piece = flatFilm(plainPiece(ROWS, { lightEndPower, rowPitchMm: PITCH_MM }));
    const [pass] = piece.passes;
    // A first pass without power sets the grid.
    const grid = { ...pass, rowPitchMm: PITCH_MM / FINER, lightEndPower: 0, darkEndPower: 0 };
    const fine = await meanLeftUm({ ...piece, passes: [grid, pass] }, FINER);
    const usual = await meanLeftUm(piece, 1);
    expect(Math.abs(usual - fine)).toBeLessThan(0.1);
  },
);
