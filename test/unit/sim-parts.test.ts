import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import { createMemo } from '../../src/burn/memo.ts';
import { outsideMask } from '../../src/burn/prepare.ts';
import { addStats, emptyStats, summarise } from '../../src/burn/proof.ts';
import { burnsAtLightEnd, type CellGrid, cutWindow } from '../../src/burn/swath.ts';
import { HISTOGRAM_BINS, type SwathStats } from '../../src/burn/swath-task.ts';
import { createPassRaster, type ScreenedPass } from '../../src/physics/raster/pass-raster.ts';
import { pictureFrame } from '../../src/piece/frame.ts';
import { plainPiece } from '../helpers/burn.ts';

describe('createMemo', () => {
  test('makes each value once and forgets the one used longest ago', () => {
    const made: string[] = [];
    const memo = createMemo<string>(2);
    const get = (key: string) =>
      memo(key, () => {
        made.push(key);
        return key.toUpperCase();
      });
    expect([get('a'), get('b'), get('a'), get('c'), get('a'), get('b')]).toEqual(['A', 'B', 'A', 'C', 'A', 'B']);
    // c pushed out b, not a, which had been used since.
    expect(made).toEqual(['a', 'b', 'c', 'b']);
  });

  test('keeps what looks like nothing, and does not keep what failed', () => {
    let calls = 0;
    const memo = createMemo<number | undefined>(2);
    for (let i = 0; i < 3; i++) {
      memo('none', () => {
        calls++;
        return undefined;
      });
    }
    expect(calls).toBe(1);
    expect(() =>
      memo('bad', () => {
        throw new Error('no');
      }),
    ).toThrow('no');
    expect(memo('bad', () => 5)).toBe(5);
  });
});

describe('statistics', () => {
  const strip = (more: Partial<SwathStats>): SwathStats => ({
    unsound: 0,
    pictureCells: 0,
    lightCells: 0,
    unclearedCells: 0,
    scorchedCells: 0,
    residueSumUm: 0,
    maxDepthUm: 0,
    histogram: new Uint32Array(HISTOGRAM_BINS),
    ...more,
  });

  test('strips add up, the deepest stays', () => {
    const sum = emptyStats();
    const histogram = new Uint32Array(HISTOGRAM_BINS);
    histogram[3] = 7;
    addStats(
      sum,
      strip({ pictureCells: 100, lightCells: 40, unclearedCells: 10, residueSumUm: 20, maxDepthUm: 30, histogram }),
    );
    addStats(
      sum,
      strip({ pictureCells: 100, lightCells: 10, scorchedCells: 5, residueSumUm: 5, maxDepthUm: 12, histogram }),
    );
    const passes = [
      { timeS: 60, rows: 10, burnedMm: 1 },
      { timeS: 30, rows: 5, burnedMm: 1 },
    ];
    expect(summarise(sum, passes)).toEqual({
      burnTimeS: 90,
      rows: 15,
      unclearedShare: 0.2,
      scorchedShare: 0.025,
      meanResidueUm: 0.5,
      maxDepthUm: 30,
      lightShare: 0.25,
      residueHistogram: Array.from({ length: HISTOGRAM_BINS }, (_, i) => (i === 3 ? 14 : 0)),
    });
  });

  test('nothing is no division by nothing', () => {
    const summary = summarise(emptyStats(), []);
    const { residueHistogram, ...numbers } = summary;
    expect(Object.values(numbers).every((value) => value === 0)).toBe(true);
    expect(residueHistogram.every((value) => value === 0)).toBe(true);
  });
});

describe('outsideMask', () => {
  const at = (mask: Uint8Array, width: number, x: number, y: number) => mask[y * width + x];

  test('a turned crop is the same crop turned: areas stay, corners are where they belong', () => {
    const piece = plainPiece(60, { rowPitchMm: 1 });
    const photo = { width: 60, height: 40 };
    const area = (crop: 'oval' | 'rectangle', rotationRad: number) => {
      const picture = { ...piece.picture, crop, rotationRad };
      const { widthMm, heightMm } = pictureFrame(picture, photo);
      const [w, h] = [Math.round(widthMm / 0.25), Math.round(heightMm / 0.25)];
      const mask = outsideMask({ ...piece, picture }, photo, w, h, 0.25);
      return mask.filter((value) => value > 0).length * 0.0625;
    };
    for (const turn of [0, 0.4, Math.PI / 2, -2]) {
      expect(Math.abs(area('rectangle', turn) / 2400 - 1)).toBeLessThan(0.01);
      expect(Math.abs(area('oval', turn) / (Math.PI * 30 * 20) - 1)).toBeLessThan(0.01);
    }
  });

  test('everything for a rectangle on a slab that is large enough', () => {
    expect(outsideMask(plainPiece(30), { width: 30, height: 20 }, 30, 20, 0.1).every((value) => value === 255)).toBe(
      true,
    );
  });

  test('the crop’s oval: cells whose centre lies in it', () => {
    const piece = plainPiece(30);
    const mask = outsideMask(
      { ...piece, picture: { ...piece.picture, crop: 'oval' } },
      { width: 30, height: 20 },
      30,
      20,
      0.1,
    );
    for (let y = 0; y < 20; y++) {
      for (let x = 0; x < 30; x++) {
        const inside = ((x + 0.5 - 15) / 15) ** 2 + ((y + 0.5 - 10) / 10) ** 2 <= 1;
        expect(at(mask, 30, x, y)).toBe(inside ? 255 : 0);
      }
    }
  });

  test('nothing burns beyond the slab’s edge, wherever the picture lies', () => {
    const piece = plainPiece(30);
    const slab = { ...piece.slab, shape: 'oval' as const, widthMm: 8, heightMm: 6 };
    const picture = { ...piece.picture, offsetXMm: 2.2, offsetYMm: -1.5 };
    const mask = outsideMask({ ...piece, slab, picture }, { width: 30, height: 20 }, 30, 20, 0.1);
    for (let y = 0; y < 20; y++) {
      for (let x = 0; x < 30; x++) {
        const xMm = 2.2 + (x + 0.5 - 15) * 0.1;
        const yMm = -1.5 + (y + 0.5 - 10) * 0.1;
        expect(at(mask, 30, x, y)).toBe((xMm / 4) ** 2 + (yMm / 3) ** 2 <= 1 ? 255 : 0);
      }
    }
    const far = { ...picture, offsetXMm: 100 };
    expect(
      outsideMask({ ...piece, slab, picture: far }, { width: 30, height: 20 }, 30, 20, 0.1).every(
        (value) => value === 0,
      ),
    ).toBe(true);
  });
});

/** A screened pass in which each dot has a level of its own. */
function screenedPass(widthMm: number, heightMm: number, pitchMm: number, degrees: number): ScreenedPass {
  const raster = createPassRaster(widthMm, heightMm, pitchMm, degToRad(degrees));
  const count = raster.columns * raster.rows;
  return {
    raster,
    levels: Uint8Array.from({ length: count }, (_, i) => 1 + (i % 255)),
    mask: new Uint8Array(count).fill(200),
    spans: {
      first: Int32Array.from({ length: raster.rows }, (_, r) => r % 3),
      end: new Int32Array(raster.rows).fill(raster.columns),
      backwards: Uint8Array.from({ length: raster.rows }, (_, r) => r % 2),
    },
  };
}

describe('cutWindow', () => {
  const grid: CellGrid = { width: 24, height: 30, pitchMm: 0.1, subX: 3, subY: 3 };

  test.each([
    [0, 0.1],
    [180, 0.1],
    [90, 0.1],
    [270, 0.1],
    [0, 0.13],
    [33, 0.1],
    [121, 0.07],
  ])('heading %d° at a pitch of %f: every fine cell finds its dot', (degrees, pitchMm) => {
    const pass = screenedPass(2.4, 3, pitchMm, degrees);
    const { column, row, columns, rows } = pass.raster;
    for (const [y0, count] of [
      [0, 30],
      [0, 7],
      [7, 16],
      [29, 1],
    ]) {
      const window = cutWindow(pass, grid, y0, count, 2, 4);
      const { place } = window;
      expect(window.levels).toHaveLength(window.columns * window.rows);
      for (let y = 0; y < count * 3; y++) {
        for (let x = 0; x < 72; x++) {
          const xMm = ((x + 0.5) / 3) * 0.1;
          const yMm = (y0 + (y + 0.5) / 3) * 0.1;
          const u = column[0] + column[1] * xMm + column[2] * yMm;
          const v = row[0] + row[1] * xMm + row[2] * yMm;
          const windowRow = place.rowOrigin + place.rowPerX * x + place.rowPerY * y;
          const windowColumn = place.columnOrigin + place.columnPerX * x + place.columnPerY * y;
          // The window's rows are the raster's, counted from its own start; columns are dot centres.
          const rowStart = Math.round(v - windowRow);
          const r = Math.floor(windowRow);
          const c = Math.floor(windowColumn);
          const [rasterRow, rasterColumn] = [r + rowStart, c + window.columnStart];
          const known = rasterRow >= 0 && rasterRow < rows && rasterColumn >= 0 && rasterColumn < columns;
          const rowKnown = rasterRow >= 0 && rasterRow < rows;
          const at = r * window.columns + c;
          const right =
            Math.abs(v - windowRow - rowStart) < 1e-6 &&
            Math.abs(windowColumn + 0.5 + window.columnStart - u) < 1e-6 &&
            // The halo is all there: two rows to either side, four dots to either end and one for interpolation.
            r >= 2 &&
            r + 2 < window.rows &&
            c >= 4 &&
            c + 5 < window.columns &&
            window.levels[at] === (known ? pass.levels[rasterRow * columns + rasterColumn] : 0) &&
            window.mask[at] === (known ? 200 : 0) &&
            window.spanFirst[r] === (rowKnown ? pass.spans.first[rasterRow] : 0) &&
            window.spanEnd[r] === (rowKnown ? pass.spans.end[rasterRow] : 0) &&
            window.backwards[r] === (rowKnown ? pass.spans.backwards[rasterRow] : 0);
          if (!right)
            throw new Error(`fine cell ${x}, ${y} of the strip at ${y0} finds raster row ${v}, column ${u} wrongly`);
        }
      }
    }
  });

  test('rows and columns beyond the raster are empty', () => {
    const pass = screenedPass(2.4, 3, 0.1, 0);
    const window = cutWindow(pass, { ...grid, subX: 1 }, 0, 30, 5, 6);
    // One column more than the halo, for interpolation.
    expect([window.columns, window.rows, window.columnStart]).toEqual([24 + 2 * 6 + 1, 30 + 2 * 5, -6]);
    for (let r = 0; r < window.rows; r++) {
      for (let c = 0; c < window.columns; c++) {
        const inside = r >= 5 && r < 35 && c >= 6 && c < 30;
        if (window.mask[r * window.columns + c] !== (inside ? 200 : 0)) throw new Error(`row ${r}, column ${c}`);
      }
    }
  });
});

describe('burnsAtLightEnd', () => {
  const grid: CellGrid = { width: 24, height: 30, pitchMm: 0.1, subX: 1, subY: 3 };

  test('is the dot under the cell’s centre, in any of the passes', () => {
    for (const degrees of [0, 90, 180]) {
      const pass = screenedPass(2.4, 3, 0.1, degrees);
      const { raster, levels } = pass;
      for (const [x, y] of [
        [0, 0],
        [23, 29],
        [5, 17],
        [11, 3],
      ]) {
        const [c, r] = degrees === 0 ? [x, y] : degrees === 180 ? [23 - x, 29 - y] : [29 - y, x];
        expect(burnsAtLightEnd([pass], grid, x, y)).toBe(levels[r * raster.columns + c] >= 128);
      }
      const dark = { ...pass, levels: new Uint8Array(levels.length) };
      const light = { ...pass, levels: new Uint8Array(levels.length).fill(255) };
      expect(burnsAtLightEnd([dark], grid, 4, 4)).toBe(false);
      expect(burnsAtLightEnd([dark, light], grid, 4, 4)).toBe(true);
    }
  });

  test('nothing burns outside the raster', () => {
    const pass = screenedPass(1.2, 1.5, 0.1, 0);
    const light = { ...pass, levels: new Uint8Array(pass.levels.length).fill(255) };
    expect(burnsAtLightEnd([light], grid, 11, 14)).toBe(true);
    expect(burnsAtLightEnd([light], grid, 12, 14)).toBe(false);
    expect(burnsAtLightEnd([light], grid, 11, 15)).toBe(false);
  });
});
