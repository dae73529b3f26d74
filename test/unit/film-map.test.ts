import { describe, expect, test } from 'vitest';
import { encodeNpy } from '../../src/base/npy.ts';
import { FilmMapError, parseFilmMap, withFilmMap } from '../../src/physics/film/film-map.ts';
import { createFilmAt } from '../../src/physics/film/laid-film.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { parsePiece } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';

const bytes = (text: string) => new TextEncoder().encode(text);
const base = createPiece('film', 'film.png');
const piece = { ...base, slab: { ...base.slab, shape: 'rectangle' as const, widthMm: 120, heightMm: 80 } };

describe('a measured film', () => {
  test.each<[string, Uint8Array]>([
    ['commas', bytes('20,25,30\n22, 25, 28\n')],
    ['semicolons and decimal commas', bytes('\ufeff20,0;25,0;30,0\r\n22,0;25,0;28,0')],
    ['blanks and a remark', bytes('# µm\n20 25 30\n22 25 28')],
    ['a NumPy array', encodeNpy(Float32Array.of(20, 25, 30, 22, 25, 28), [2, 3])],
  ])('is read from %s and lies where it was measured', (_, file) => {
    const map = parseFilmMap(file);
    expect([map.columns, map.rows, ...map.um]).toEqual([3, 2, 20, 25, 30, 22, 25, 28]);
    const known = withFilmMap(piece, map);
    expect(known.stack.coats[0].dryThicknessUm).toBe(25);
    const at = createFilmAt(known.slab, known.stack);
    // Middles of the outer places; a tile says a factor in steps of 1/128.
    expect(25 * at(-40, -20)).toBeCloseTo(20, 0);
    expect(25 * at(40, -20)).toBeCloseTo(30, 0);
    expect(25 * at(40, 20)).toBeCloseTo(28, 0);
    expect(25 * at(0, 0)).toBeCloseTo(25, 0);
    expect(parsePiece(JSON.stringify(known))).toEqual(known);
  });

  test('a NumPy array of float64, as numpy.save writes it by itself, is read too', () => {
    const head = `${"{'descr': '<f8', 'fortran_order': False, 'shape': (1, 2), }".padEnd(117)}\n`;
    const file = new Uint8Array(10 + head.length + 16);
    file.set([0x93, 0x4e, 0x55, 0x4d, 0x50, 0x59, 1, 0, head.length, 0]);
    file.set(bytes(head), 10);
    new DataView(file.buffer).setFloat64(10 + head.length, 21.5, true);
    new DataView(file.buffer).setFloat64(18 + head.length, 24.5, true);
    expect([...parseFilmMap(file).um]).toEqual([21.5, 24.5]);
  });

  test('what is measured varies less from draw to draw than what is not', () => {
    const known = withFilmMap(piece, parseFilmMap(bytes('20,25,30\n22,25,28')));
    const spreadAt = (of: Piece) => {
      const films = Array.from({ length: 60 }, (_, draw) => {
        const drawn = drawPiece(of, draw);
        return createFilmAt(drawn.slab, drawn.stack)(40, -20);
      });
      const mean = films.reduce((sum, value) => sum + value, 0) / films.length;
      return Math.sqrt(films.reduce((sum, value) => sum + (value - mean) ** 2, 0) / films.length) / mean;
    };
    expect(spreadAt(known)).toBeLessThan(0.75 * spreadAt(piece));
    expect(spreadAt(known)).toBeGreaterThan(0);
  });

  test.each<[string, string, string]>([
    ['', 'no numbers', 'empty'],
    ['1,2\n3', 'row 2 has 1 numbers, the first has 2', 'ragged'],
    ['20,thick', 'row 1: “thick” is no number', 'words'],
    ['20,-3', 'row 1, column 2: a film is 0 to 1000 µm thick, got -3', 'negative'],
    ['0,0', 'nowhere thicker', 'nothing'],
    ['1,1,1,60', 'times as thick as on average', 'a lump'],
  ])('refuses %j with a sentence', (text, message) => {
    expect(() => withFilmMap(piece, parseFilmMap(bytes(text)))).toThrow(FilmMapError);
    expect(() => withFilmMap(piece, parseFilmMap(bytes(text)))).toThrow(message);
  });
});
