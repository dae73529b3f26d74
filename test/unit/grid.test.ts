import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { averageColors } from '../../src/image/average-colors.ts';
import { tellingPlace } from '../../src/image/telling-place.ts';
import { readValues, sayValue, typedValues } from '../../src/page/compare/columns.ts';
import { heldIn } from '../../src/page/compare/GridDialog.tsx';
import { cellsOf, firstPlan } from '../../src/page/compare/grid-store.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece } from '../../src/piece/file.ts';
import { GRID_SETTINGS, settingOf, usualValues, withSetting } from '../../src/studies/grid/grid-setting.ts';
import { randomPiece } from '../helpers/random-piece.ts';

const piece = createPiece('Hollin Reach', 'photo.jpg');

describe('settings of a grid', () => {
  test.each(GRID_SETTINGS)('%s: what is set is read back, and the piece stays valid', (setting) => {
    for (const value of usualValues(piece, setting, 0)) {
      const changed = withSetting(piece, setting, 0, value);
      expect(settingOf(changed, setting, 0)).toBe(value);
      expect(checkPiece(JSON.parse(JSON.stringify(changed)))).toEqual(changed);
    }
  });

  test('values to begin with are few, valid, and hold what the piece has, whatever it is', () => {
    for (let seed = 1; seed <= 25; seed++) {
      const random = randomPiece(seed);
      for (const setting of GRID_SETTINGS) {
        if (setting === 'film' && random.stack.coats.length === 0) continue;
        const values = usualValues(random, setting, 0);
        expect(values.length).toBeGreaterThan(0);
        expect(values.length).toBeLessThanOrEqual(5);
        expect(new Set(values).size).toBe(values.length);
        for (const value of values) checkPiece(withSetting(random, setting, 0, value));
        // A feed beyond what the machine can is not offered.
        const held = setting !== 'feed' || random.passes[0].feedMmPerS <= random.machine.motion.maxFeedMmPerS;
        if (held) expect(values).toContain(settingOf(random, setting, 0));
      }
    }
  });

  test('only the pass that is asked for changes', () => {
    const two = { ...piece, passes: [piece.passes[0], piece.passes[0]] };
    const changed = withSetting(two, 'light-end', 1, 0.3);
    expect(changed.passes[0]).toBe(two.passes[0]);
    expect(changed.passes[1].lightEndPower).toBe(0.3);
  });

  test('typed values are read with spaces between, sorted and held in range', () => {
    expect(readValues('light-end', '87  77 120 77', piece)).toEqual([0.77, 0.87, 1]);
    expect(readValues('feed', '6000', piece)).toEqual([100]);
    expect(readValues('focus', '−2 0 1,5', piece)).toEqual([-2, 0, 1.5]);
    expect(readValues('film', 'thick', piece)).toBeNull();
    expect(readValues('film', '', piece)).toBeNull();
    expect(readValues('film', '1 2 3 4 5 6', piece)).toBeNull();
    expect(typedValues('light-end', [0.77, 0.825])).toBe('77  82.5');
    expect(sayValue('feed', 100)).toBe('6000 mm/min');
  });

  test('a plan has a cell for every pair, one of them as it is now, the slower setting outermost', () => {
    const plan = { ...firstPlan(piece), down: { setting: 'row-pitch', values: [0.08, 0.1] } as const };
    const cells = cellsOf(plan, piece);
    expect(cells).toHaveLength(2 * plan.across.values.length);
    expect(cells.filter(({ isNow }) => isNow)).toHaveLength(1);
    const pitches = cells.map((cell) => cell.piece.passes[0].rowPitchMm);
    expect(pitches).toEqual([...pitches].sort((a, b) => a - b));
  });

  test('a crop is held in the picture', () => {
    const whole = { widthMm: 100, heightMm: 50 };
    expect(heldIn(whole, { xMm: 95, yMm: -4, widthMm: 30, heightMm: 1 })).toEqual({
      xMm: 70,
      yMm: 0,
      widthMm: 30,
      heightMm: 3,
    });
  });
});

describe('the telling place', () => {
  test('holds both the lightest and the darkest part', () => {
    const [width, height] = [120, 90];
    // Mid grey, a black square and a white one side by side near the right lower corner, another white one far away.
    const lightness = Float32Array.from({ length: width * height }, (_, i) => {
      const [x, y] = [i % width, Math.floor(i / width)];
      if (y >= 60 && y < 80 && x >= 80 && x < 100) return x < 90 ? 0.02 : 0.98;
      return y < 20 && x < 20 ? 0.97 : 0.5;
    });
    const burns = new Uint8Array(width * height).fill(1);
    const place = tellingPlace({ width, height, lightness, burns }, { width: 20, height: 20 });
    expect(Math.abs(place.x - 80)).toBeLessThanOrEqual(6);
    expect(Math.abs(place.y - 60)).toBeLessThanOrEqual(6);
  });

  test('stays where something burns, and begins at the corner when it is as large as the picture', () => {
    const burns = Uint8Array.from({ length: 400 }, (_, i) => (i % 20 >= 10 ? 1 : 0));
    const lightness = Float32Array.from({ length: 400 }, (_, i) => (i % 20) / 20);
    expect(tellingPlace({ width: 20, height: 20, lightness, burns }, { width: 10, height: 20 }).x).toBe(10);
    expect(tellingPlace({ width: 20, height: 20, lightness, burns }, { width: 50, height: 50 })).toEqual({
      x: 0,
      y: 0,
    });
  });
});

describe('colours averaged for a sheet', () => {
  const rowsOf = (width: number, height: number, color: Uint8Array) => ({
    width,
    height,
    row: (y: number) => ({ data: color, at: 4 * y * width }),
  });

  test('an even colour stays to the byte, at any size', () => {
    const color = new Uint8Array(4 * 7 * 5).map((_, i) => [200, 120, 31, 0][i % 4]);
    for (const [width, height] of [
      [7, 5],
      [3, 2],
      [20, 11],
      [1, 1],
    ]) {
      const out = averageColors(rowsOf(7, 5, color), width, height);
      for (let i = 0; i < out.length; i += 4) expect([...out.subarray(i, i + 4)]).toEqual([200, 120, 31, 255]);
    }
  });

  test('black and white dots become the grey that reflects half the light: 188 in sRGB (IEC 61966-2-1), not 128', () => {
    const color = new Uint8Array(4 * 64).map((_, i) => (Math.floor(i / 4) % 2 ? 255 : 0));
    const [red] = averageColors(rowsOf(8, 8, color), 2, 2);
    expect(red).toBe(188);
  });

  test('mean light is kept when sizes do not divide', () => {
    const random = createGenerator(5);
    const color = Uint8Array.from({ length: 4 * 23 * 17 }, () => Math.floor(256 * random.nextUnit()));
    const linear = (byte: number) => (byte <= 10.31475 ? byte / 255 / 12.92 : ((byte / 255 + 0.055) / 1.055) ** 2.4);
    const mean = (data: ArrayLike<number>) => {
      let sum = 0;
      for (let i = 1; i < data.length; i += 4) sum += linear(data[i]);
      return (4 * sum) / data.length;
    };
    expect(mean(averageColors(rowsOf(23, 17, color), 9, 4))).toBeCloseTo(mean(color), 2);
  });
});
