import { expect, test } from 'vitest';
import { createFoundFilm } from '../../src/physics/film/laid-film.ts';
import { createStackLayer } from '../../src/physics/material/laid-stack.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { packTiles } from '../../src/piece/tiles.ts';

const found = {
  xMm: -4,
  yMm: -2,
  pitchMm: 2,
  tiles: packTiles(4, 2, Uint8Array.of(128, 128, 192, 192, 64, 64, 64, 64)),
};

test('a found film is bilinear between the middles of its tiles and 1 beyond them', () => {
  const correct = createFoundFilm(found);
  const row = (yMm: number) => {
    const film = new Float32Array(10).fill(10);
    correct({ originXMm: -5, yMm, pitchMm: 1 }, film);
    return [...film];
  };
  // Cells' middles at −4.5, −3.5 … 4.5; tiles' middles at −3, −1, 1, 3.
  expect(row(-1)).toEqual([10, 10, 10, 10, 11.25, 13.75, 15, 15, 15, 10]);
  expect(row(0)[1]).toBeCloseTo(7.5, 5);
  expect(row(1.5)[1]).toBeCloseTo(5, 5);
  expect(row(2.1)).toEqual(new Array(10).fill(10));
});

test('the topmost coat alone is corrected, and all proofs see it', () => {
  const { slab, stack } = createPiece('x', 'x.png');
  const rowOf = (film: typeof stack.film) => {
    const row = () => new Float32Array(4);
    const out = { filmUm: [row(), row()], reliefUm: row(), density: row(), shade: row() };
    createStackLayer(slab, { ...stack, film }).row({ originXMm: 2, yMm: -1.5, pitchMm: 0.25 }, out);
    return out.filmUm;
  };
  const [plain, corrected] = [rowOf(stack.film), rowOf({ ...stack.film, found })];
  plain[0].forEach((um, i) => {
    expect(corrected[0][i]).toBeCloseTo(1.5 * um, 3);
  });
  expect(corrected[1]).toEqual(plain[1]);
});
