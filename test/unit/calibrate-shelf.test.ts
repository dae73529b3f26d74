import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';
import {
  ageCalibration,
  compareEntries,
  EMPTY_SHELF,
  exportShelf,
  importShelf,
  mergeShelves,
  putOnShelf,
  referTo,
  shelve,
  takeFromShelf,
} from '../../src/studies/calibrate/shelf/shelf.ts';
import { drawPiece, shiftPiece } from '../../src/studies/sure/spread.ts';

const preset = createPiece('test', 'test.png');
const names = ['coat0.threshold', 'coat0.specificEnergy', 'spotAcross'];
const matrix = [
  [0.01, -0.008, 0],
  [-0.008, 0.01, 0],
  [0, 0, 0.0025],
];
const calibrated: Piece = {
  ...shiftPiece(preset, names, [0.2, -0.1, 0.05]),
  certainty: { ...preset.certainty, source: 'calibrated', power: 0, covariance: { names, matrix } },
};
const label = { name: 'Peat over oat', date: '2031-05-02' };

describe('the shelf', () => {
  const entry = shelve(calibrated, label);

  test('gives back what was put on it, to another piece', () => {
    const { shelf, refused } = importShelf(exportShelf(putOnShelf(EMPTY_SHELF, entry)));
    expect(refused).toEqual([]);
    const other = { ...preset, name: 'other', passes: [preset.passes[0], preset.passes[0]] };
    const taken = takeFromShelf(other, shelf.entries[0]);
    expect(taken.stack).toEqual(calibrated.stack);
    expect(taken.machine).toEqual(calibrated.machine);
    expect(taken.certainty).toEqual(calibrated.certainty);
    expect(taken.shelfEntry).toEqual(referTo(entry));
    expect(taken.name).toBe('other');
    expect(taken.passes).toHaveLength(2);
  });

  test('a film that was measured on a slab stays with its piece, and no other’s comes with the shelf', () => {
    const film = (byte: number) => ({ xMm: 0, yMm: 0, pitchMm: 2, tiles: packTiles(1, 1, Uint8Array.of(byte)) });
    const onFilm = (piece: Piece, found: ReturnType<typeof film> | null): Piece => ({
      ...piece,
      stack: { ...piece.stack, film: { ...piece.stack.film, found } },
    });
    const measured = shelve(onFilm(calibrated, film(100)), label);
    expect(takeFromShelf(onFilm(preset, film(140)), measured).stack.film.found).toEqual(film(140));
    expect(takeFromShelf(onFilm(preset, null), measured).stack.film.found).toBeNull();
  });

  test('a name is there once, and the newer wins', () => {
    const newer = { ...entry, date: '2032-01-01' };
    expect(putOnShelf(putOnShelf(EMPTY_SHELF, entry), newer).entries).toEqual([newer]);
    expect(mergeShelves({ entries: [entry] }, { entries: [newer] }).entries).toEqual([newer]);
  });

  test('what pieces refer to stays when an entry is calibrated anew or renamed, and came with entries kept before', () => {
    const anew = shelve({ ...calibrated, heat: { ...calibrated.heat, retainedShare: 0.5 } }, label);
    expect(anew.id).not.toBe(entry.id);
    const [kept] = putOnShelf(putOnShelf(EMPTY_SHELF, entry), anew).entries;
    expect(kept).toEqual({ ...anew, id: entry.id });
    expect(referTo(kept).sum).not.toBe(referTo(entry).sum);
    expect(referTo({ ...entry, name: 'Renamed' })).toEqual({ ...referTo(entry), name: 'Renamed' });
    const { id: _, ...older } = entry;
    const file = JSON.stringify({ format: 'foreburn-shelf', version: 1, entries: [older] });
    expect(importShelf(file).shelf.entries[0].id).toBe(entry.name);
  });

  test('presets are refused', () => {
    expect(() => shelve(preset, label)).toThrow(/only calibrated numbers/);
    expect(() => shelve(calibrated, { ...label, date: 'today' })).toThrow(/date/);
  });

  test('a damaged entry is refused with the reason, the rest comes in', () => {
    const bad = {
      ...entry,
      name: 'bad',
      stack: { ...entry.stack, coats: [{ ...entry.stack.coats[0], dryThicknessUm: -1 }] },
    };
    const { shelf, refused } = importShelf(exportShelf({ entries: [bad, entry, entry] }));
    expect(shelf.entries).toEqual([entry]);
    expect(refused.map(({ name }) => name)).toEqual(['bad', entry.name]);
    expect(refused[0].reason).toMatch(
      /^damaged: stack\.coats\[0\]\.dryThicknessUm: must be a number from 0 to 1000, got -1$/,
    );
    expect(refused[1].reason).toMatch(/another entry/);
  });

  test('a covariance that is no square or not symmetric is refused', () => {
    for (const wrong of [
      [[1]],
      [
        [0.01, 0.1, 0],
        [0, 0.01, 0],
        [0, 0, 0.01],
      ],
    ]) {
      const bad = { ...entry, certainty: { ...entry.certainty, covariance: { names, matrix: wrong } } };
      expect(importShelf(exportShelf({ entries: [bad] })).refused).toHaveLength(1);
    }
  });

  test('a file that is damaged, something else or newer is refused as a whole', () => {
    expect(() => importShelf('{')).toThrow(/damaged/);
    expect(() => importShelf('{"format":"foreburn"}')).toThrow(/not a shelf/);
    expect(() => importShelf('{"format":"foreburn-shelf","version":9,"entries":[]}')).toThrow(/newer/);
    expect(() => importShelf('{"format":"foreburn-shelf","version":1}')).toThrow(/no list/);
  });

  test('two entries are compared in their own spread', () => {
    const other = shelve(shiftPiece(calibrated, ['coat0.threshold'], [0.5]), { ...label, name: 'other' });
    const compared = compareEntries(entry, other);
    const threshold = compared.find(({ name }) => name === 'coat0.threshold')!;
    expect(Math.abs(threshold.ratio! - Math.exp(0.5))).toBeLessThan(1e-9);
    // 0.5 over √(0.01 + 0.01).
    expect(Math.abs(threshold.apart! - 0.5 / Math.sqrt(0.02))).toBeLessThan(1e-9);
    expect(compared.find(({ name }) => name === 'spotAcross')!.apart).toBe(0);
  });

  test('another tin makes the coats less sure and leaves the spot alone', () => {
    const aged = ageCalibration(calibrated, { batch: true, machine: false });
    const { matrix: now } = aged.certainty.covariance!;
    expect(now[0][0]).toBeCloseTo(0.02, 12);
    expect(now[2][2]).toBe(0.0025);
    expect(now[0][1]).toBe(-0.008);
    expect(ageCalibration(calibrated, { batch: false, machine: false })).toBe(calibrated);
    expect(ageCalibration(preset, { batch: true, machine: true })).toBe(preset);
  });
});

test('draws of a calibrated piece have the covariance that it keeps', () => {
  const draws = 4000;
  const logs = Array.from({ length: draws }, (_, draw) => {
    const { stack, machine } = drawPiece(calibrated, draw);
    const of = calibrated.stack.coats[0];
    return [
      Math.log(stack.coats[0].thresholdJPerMm2 / of.thresholdJPerMm2),
      Math.log(stack.coats[0].specificEnergyJPerMm3 / of.specificEnergyJPerMm3),
      Math.log(machine.source.spotAcrossMm / calibrated.machine.source.spotAcrossMm),
    ];
  });
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      const mean = logs.reduce((sum, one) => sum + one[i] * one[j], 0) / draws;
      expect(Math.abs(mean - matrix[i][j])).toBeLessThan(0.06 * Math.sqrt(matrix[i][i] * matrix[j][j]));
    }
  }
  // What the calibration does not name stays.
  expect(drawPiece(calibrated, 3).stack.coats[1]).toEqual(calibrated.stack.coats[1]);
});
