import { describe, expect, test } from 'vitest';
import { type FilmNoise, filmRowUm } from '../../src/physics/film/film.ts';
import { correlation, moments } from '../unit/random-statistics.ts';

const FILM: FilmNoise = { shown: 'drawn', seed: 7, slowScaleMm: 28, fineScaleMm: 1.2 };

interface Rows {
  readonly film?: Partial<FilmNoise>;
  readonly coat?: number;
  readonly meanUm?: number;
  readonly slow?: number;
  readonly fine?: number;
  readonly originXMm?: number;
  readonly originYMm?: number;
  readonly pitchMm: number;
  readonly width: number;
  readonly height: number;
}

function filmOf({ film, coat = 0, meanUm = 100, slow = 0, fine = 0, ...more }: Rows): Float32Array {
  const { originXMm = 0, originYMm = 0, pitchMm, width, height } = more;
  const whole = new Float32Array(width * height);
  for (let y = 0; y < height; y++) {
    const row = whole.subarray(y * width, (y + 1) * width);
    filmRowUm({ ...FILM, ...film }, coat, meanUm, slow, fine, originXMm, originYMm + (y + 0.5) * pitchMm, pitchMm, row);
  }
  return whole;
}

describe('unevenness of a film', () => {
  // Places five lattice steps apart do not depend on each other: a sample of n has a variance within √(2/n) of the true one, and a
  // mean within 1/√n standard deviations; four times that is allowed (one false alarm in 16 000 seeds).
  const WIDTH = 160;
  const HEIGHT = 160;
  const n = WIDTH * HEIGHT;

  test.each([
    ['slow', { slow: 0.1 }, 5 * 28],
    ['fine', { fine: 0.1 }, 5 * 1.2],
    ['fine, off the lattice', { fine: 0.1 }, 5.37 * 1.2],
    ['slow, off the lattice', { slow: 0.1 }, 5.61 * 28],
  ])('%s: the variation asked for, the mean kept', (_, variations, pitchMm) => {
    const values = Float64Array.from(filmOf({ ...variations, pitchMm, width: WIDTH, height: HEIGHT }));
    const { mean, variance } = moments(values);
    expect(Math.abs(mean - 100)).toBeLessThan((4 * 10) / Math.sqrt(n));
    expect(Math.abs(variance / 100 - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
  });

  test('slow and fine add up as variances', () => {
    const values = Float64Array.from(
      filmOf({ slow: 0.06, fine: 0.08, pitchMm: 5 * 28.1, width: WIDTH, height: HEIGHT }),
    );
    expect(Math.abs(moments(values).variance / 100 - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
  });

  test('the variation is as large between lattice points as on them', () => {
    // One phase of the lattice at a time: the normalised spline leaves no grid of even and uneven places.
    for (const phase of [0, 0.25, 0.5, 0.75]) {
      const values = Float64Array.from(
        filmOf({
          fine: 0.1,
          pitchMm: 6,
          originXMm: phase * 1.2 - 3,
          originYMm: 0.3,
          width: WIDTH,
          height: HEIGHT,
        }),
      );
      expect(Math.abs(moments(values).variance / 100 - 1)).toBeLessThan(4 * Math.sqrt(2 / n));
    }
  });
});

describe('the same place has the same film', () => {
  const uneven = { slow: 0.06, fine: 0.03 };

  test('at another pitch', () => {
    // Cell 3i + 1 of the fine grid has its centre where cell i of the coarse one has.
    const coarse = filmOf({ ...uneven, pitchMm: 0.3, width: 40, height: 20 });
    const fine = filmOf({ ...uneven, pitchMm: 0.1, width: 120, height: 60 });
    for (let y = 0; y < 20; y++) {
      for (let x = 0; x < 40; x++) expect(fine[(3 * y + 1) * 120 + 3 * x + 1]).toBeCloseTo(coarse[y * 40 + x], 4);
    }
  });

  test('from another origin, and so in another strip or tile', () => {
    const whole = filmOf({ ...uneven, pitchMm: 0.1, originXMm: -7, originYMm: -3, width: 90, height: 60 });
    const part = filmOf({ ...uneven, pitchMm: 0.1, originXMm: -7 + 2.5, originYMm: -3 + 1.7, width: 30, height: 20 });
    for (let y = 0; y < 20; y++) {
      for (let x = 0; x < 30; x++) expect(part[y * 30 + x]).toBeCloseTo(whole[(y + 17) * 90 + x + 25], 4);
    }
  });

  test('there is no seam at lattice lines, at zero, or anywhere else', () => {
    // A standard deviation of 6 µm with features 1.2 mm wide changes by about 10 µm a mm; 0.01 mm apart by 0.1 µm, at most 0.5.
    const values = filmOf({ fine: 0.06, pitchMm: 0.01, originXMm: -2, originYMm: -2, width: 400, height: 400 });
    let largest = 0;
    for (let y = 1; y < 400; y++) {
      for (let x = 1; x < 400; x++) {
        const at = y * 400 + x;
        largest = Math.max(largest, Math.abs(values[at] - values[at - 1]), Math.abs(values[at] - values[at - 400]));
      }
    }
    expect(largest).toBeLessThan(0.5);
    expect(largest).toBeGreaterThan(0.01);
  });

  test('another seed is another film, and another coat is too', () => {
    const size = { pitchMm: 6.1, width: 100, height: 100, fine: 0.1, slow: 0.05 };
    const films = [filmOf(size), filmOf({ ...size, film: { seed: 8 } }), filmOf({ ...size, coat: 1 })];
    for (let i = 0; i < films.length; i++) {
      for (let k = 0; k < i; k++) {
        // 10 000 places, of which those of the slow variation hang together over some hundred cells each.
        expect(Math.abs(correlation(Float64Array.from(films[i]), Float64Array.from(films[k])))).toBeLessThan(0.15);
      }
    }
    expect(filmOf(size)).toEqual(films[0]);
  });
});

describe('edges', () => {
  test('without variation the film is even', () => {
    expect(new Set(filmOf({ meanUm: 25, pitchMm: 0.1, width: 30, height: 4 }))).toEqual(new Set([25]));
    expect(new Set(filmOf({ meanUm: 0, fine: 0.5, pitchMm: 0.1, width: 30, height: 4 }))).toEqual(new Set([0]));
  });

  test('a film is never thinner than nothing, and the largest seed works', () => {
    const values = filmOf({
      slow: 0.5,
      fine: 0.5,
      film: { seed: 4294967295 },
      coat: 7,
      pitchMm: 7,
      width: 100,
      height: 100,
    });
    expect(values.every((value) => value >= 0 && Number.isFinite(value))).toBe(true);
    expect(values.some((value) => value === 0)).toBe(true);
  });

  test('what was in the buffer before does not matter', () => {
    const dirty = new Float32Array(20).fill(Number.NaN);
    filmRowUm(FILM, 0, 25, 0.06, 0.03, 0, 0, 0.1, dirty);
    expect(dirty).toEqual(filmRowUm(FILM, 0, 25, 0.06, 0.03, 0, 0, 0.1, new Float32Array(20)));
  });
});
