import { describe, expect, test } from 'vitest';
import {
  colorDifference,
  hexToLab,
  type Lab,
  labToHex,
  labToLinearRgb,
  labToXyz,
  linearRgbToLab,
  REFERENCE_WHITE,
  xyzToLab,
  xyzToLinearRgb,
} from '../../src/base/color/lab.ts';
import {
  BAND_COUNT,
  BAND_START_NM,
  BAND_STEP_NM,
  CMF_X,
  CMF_Y,
  CMF_Z,
  D65,
  WHITE_XYZ,
  XYZ_WEIGHTS,
} from '../../src/base/color/spectrum.ts';
import { decodeSrgb, encodeSrgb, encodeSrgbByte } from '../../src/base/color/srgb.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { luminanceToLightness } from '../../src/image/lightness.ts';

/**
 * G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula", Color Res. Appl. 30(1) 21–30 (2005), table 1: 34 pairs.
 * L1 a1 b1 L2 a2 b2 ΔE00.
 */
const PAIRS: readonly (readonly [number, number, number, number, number, number, number])[] = [
  [50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425],
  [50, 3.1571, -77.2803, 50, 0, -82.7485, 2.8615],
  [50, 2.8361, -74.02, 50, 0, -82.7485, 3.4412],
  [50, -1.3802, -84.2814, 50, 0, -82.7485, 1.0],
  [50, -1.1848, -84.8006, 50, 0, -82.7485, 1.0],
  [50, -0.9009, -85.5211, 50, 0, -82.7485, 1.0],
  [50, 0, 0, 50, -1, 2, 2.3669],
  [50, -1, 2, 50, 0, 0, 2.3669],
  [50, 2.49, -0.001, 50, -2.49, 0.0009, 7.1792],
  [50, 2.49, -0.001, 50, -2.49, 0.001, 7.1792],
  [50, 2.49, -0.001, 50, -2.49, 0.0011, 7.2195],
  [50, 2.49, -0.001, 50, -2.49, 0.0012, 7.2195],
  [50, -0.001, 2.49, 50, 0.0009, -2.49, 4.8045],
  [50, -0.001, 2.49, 50, 0.001, -2.49, 4.8045],
  [50, -0.001, 2.49, 50, 0.0011, -2.49, 4.7461],
  [50, 2.5, 0, 50, 0, -2.5, 4.3065],
  [50, 2.5, 0, 73, 25, -18, 27.1492],
  [50, 2.5, 0, 61, -5, 29, 22.8977],
  [50, 2.5, 0, 56, -27, -3, 31.903],
  [50, 2.5, 0, 58, 24, 15, 19.4535],
  [50, 2.5, 0, 50, 3.1736, 0.5854, 1.0],
  [50, 2.5, 0, 50, 3.2972, 0, 1.0],
  [50, 2.5, 0, 50, 1.8634, 0.5757, 1.0],
  [50, 2.5, 0, 50, 3.2592, 0.335, 1.0],
  [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
  [63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.263],
  [61.2901, 3.7196, -5.3901, 61.4292, 2.248, -4.962, 1.8731],
  [35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645],
  [22.7233, 20.0904, -46.694, 23.0331, 14.973, -42.5619, 2.0373],
  [36.4612, 47.858, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146],
  [90.8027, -2.0831, 1.441, 91.1528, -1.6435, 0.0447, 1.4441],
  [90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381],
  [6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377],
  [2.0776, 0.0795, -1.135, 0.9033, -0.0636, -0.5514, 0.9082],
];
/** Pair 14 sits on the jump of the mean hue at a hue difference of exactly 180°; rounding decides, so both sides are right. */
const OTHER_SIDE = new Map([[14, 4.7461]]);

describe('CIEDE2000, Sharma, Wu & Dalal 2005, table 1', () => {
  test('there are 34 pairs', () => expect(PAIRS).toHaveLength(34));

  test.each(PAIRS.map((pair, i) => [i + 1, pair] as const))('pair %d', (number, [l1, a1, b1, l2, a2, b2, printed]) => {
    const there = colorDifference([l1, a1, b1], [l2, a2, b2]);
    const back = colorDifference([l2, a2, b2], [l1, a1, b1]);
    const allowed = [printed, OTHER_SIDE.get(number) ?? printed];
    // Printed to four decimals.
    for (const value of [there, back]) {
      expect(Math.min(...allowed.map((wanted) => Math.abs(value - wanted)))).toBeLessThanOrEqual(5.1e-5);
    }
  });

  test('no difference is none', () => expect(colorDifference([29, 3, 4.5], [29, 3, 4.5])).toBe(0));
});

describe('sRGB, IEC 61966-2-1', () => {
  test('0.18 encodes to 0.461356129500442', () => {
    // Value of the colour-science library's test suite; fifteen digits are printed.
    expect(encodeSrgb(0.18)).toBeCloseTo(0.461356129500442, 14);
  });

  test('ends, the knee, and the way back', () => {
    expect(encodeSrgb(0)).toBe(0);
    expect(encodeSrgb(1)).toBeCloseTo(1, 12);
    // The standard's constants meet to within 2e-8 at the knee.
    expect(Math.abs(encodeSrgb(0.0031308) - encodeSrgb(0.00313081))).toBeLessThan(2e-7);
    for (let i = 0; i <= 200; i++) expect(encodeSrgb(decodeSrgb(i / 200))).toBeCloseTo(i / 200, 7);
  });

  test('bytes from the table are within one code of the formula everywhere, and right for every code', () => {
    let worst = 0;
    for (let i = 0; i <= 200_000; i++) {
      const linear = i / 200_000;
      worst = Math.max(worst, Math.abs(encodeSrgbByte(linear) - Math.round(255 * encodeSrgb(linear))));
    }
    expect(worst).toBeLessThanOrEqual(1);
    for (let code = 0; code < 256; code++) expect(encodeSrgbByte(decodeSrgb(code / 255))).toBe(code);
  });

  test('bytes never fall as light rises, and are clipped', () => {
    let last = 0;
    for (let i = 0; i <= 10_000; i++) {
      const byte = encodeSrgbByte(i / 10_000);
      expect(byte).toBeGreaterThanOrEqual(last);
      last = byte;
    }
    expect(encodeSrgbByte(-0.3)).toBe(0);
    expect(encodeSrgbByte(2)).toBe(255);
  });
});

describe('CIE L*', () => {
  // Computed from the formula of CIE 15 (L* = 116·Y^(1/3) − 16 above the knee) and printed to three decimals or more.
  test.each([
    [0.05, 26.735],
    [0.062, 29.912],
    [0.0866, 35.321],
    [0.18, 49.496108],
    [0.5, 76.069],
    [0.884, 95.329],
  ])('Y %f', (luminance, printed) => {
    const tolerance = printed === 49.496108 ? 5.1e-7 : 5.1e-4;
    expect(Math.abs(100 * luminanceToLightness(luminance) - printed)).toBeLessThanOrEqual(tolerance);
    const grey = REFERENCE_WHITE.map((value) => value * luminance) as unknown as [number, number, number];
    const [l, a, b] = xyzToLab(grey);
    expect(Math.abs(l - printed)).toBeLessThanOrEqual(tolerance);
    expect(Math.hypot(a, b)).toBeLessThan(1e-9);
  });
});

describe('CIE tables at 10 nm, 380–730 nm', () => {
  test('are complete', () => {
    expect([CMF_X, CMF_Y, CMF_Z, D65].map((table) => table.length)).toEqual([36, 36, 36, 36]);
    expect([BAND_COUNT, BAND_START_NM, BAND_STEP_NM]).toEqual([36, 380, 10]);
  });

  test('the luminous efficiency peaks at 560 nm on this grid and crosses as tabulated', () => {
    const at = (table: readonly number[], nm: number) => table[(nm - BAND_START_NM) / BAND_STEP_NM];
    expect(CMF_Y.indexOf(Math.max(...CMF_Y))).toBe((560 - 380) / 10);
    expect(at(CMF_Y, 560)).toBe(0.995);
    // CIE 018.2 / CIE 015, values from memory: ȳ(510) 0.503, x̄(600) 1.0622, z̄(450) 1.77211, D65 is 100 at 560 nm.
    expect(at(CMF_Y, 510)).toBe(0.503);
    expect(at(CMF_X, 600)).toBe(1.0622);
    expect(at(CMF_Z, 450)).toBe(1.77211);
    expect(at(D65, 560)).toBe(100);
  });

  test('their white is D65: x 0.3127, y 0.3290', () => {
    const [x, y, z] = WHITE_XYZ;
    const sum = x + y + z;
    // CIE 015, chromaticity of D65. Summing at 10 nm instead of 1 nm moves it: the full 10-nm tables give 0.312773, 0.329164, that
    // is by up to 1.7e-4; leaving out what is beyond 380–730 nm adds less than 1e-4.
    expect(Math.abs(x / sum - 0.3127)).toBeLessThan(3e-4);
    expect(Math.abs(y / sum - 0.329)).toBeLessThan(3e-4);
    expect(y).toBeCloseTo(1, 12);
    // XYZ of D65: 95.04, 100, 108.88 (CIE 015); same reasons, 0.2 %.
    expect(Math.abs(x / 0.9504 - 1)).toBeLessThan(2e-3);
    expect(Math.abs(z / 1.0888 - 1)).toBeLessThan(2e-3);
  });

  test('weights add up to the white', () => {
    for (let k = 0; k < 3; k++) expect(XYZ_WEIGHTS[k].reduce((a, b) => a + b)).toBeCloseTo(WHITE_XYZ[k], 12);
  });
});

describe('conversions', () => {
  test('the reference white is D65', () => {
    // CIE 015: XYZ 95.04, 100, 108.88; libraries derive it from xy 0.3127, 0.3290 and differ in the fifth digit.
    expect(REFERENCE_WHITE[0]).toBeCloseTo(0.9504, 3);
    expect(REFERENCE_WHITE[1]).toBeCloseTo(1, 12);
    expect(REFERENCE_WHITE[2]).toBeCloseTo(1.0888, 3);
    for (const value of xyzToLinearRgb(REFERENCE_WHITE)) expect(value).toBeCloseTo(1, 6);
  });

  test('Lab → linear sRGB → Lab is the same within rounding', () => {
    const random = createGenerator(11);
    for (let i = 0; i < 200; i++) {
      const lab: Lab = [5 + 90 * random.nextUnit(), 40 * (random.nextUnit() - 0.5), 60 * (random.nextUnit() - 0.5)];
      const back = linearRgbToLab(labToLinearRgb(lab));
      for (let k = 0; k < 3; k++) expect(back[k]).toBeCloseTo(lab[k], 8);
      const again = xyzToLab(labToXyz(lab));
      for (let k = 0; k < 3; k++) expect(again[k]).toBeCloseTo(lab[k], 8);
    }
  });

  test('#rrggbb → Lab → #rrggbb is the same for many colours', () => {
    const random = createGenerator(12);
    const colors = ['#000000', '#ffffff', '#010203', '#fefefe', '#ff0000', '#00ff00', '#0000ff', '#4a2f20'];
    for (let i = 0; i < 300; i++) colors.push(`#${(random.nextUint32() >>> 8).toString(16).padStart(6, '0')}`);
    for (const color of colors) expect(labToHex(hexToLab(color))).toBe(color);
    expect(labToHex(hexToLab('#4A2F20'))).toBe('#4a2f20');
  });

  test('white, black and grey in Lab', () => {
    expect(hexToLab('#ffffff')[0]).toBeCloseTo(100, 6);
    expect(hexToLab('#000000')[0]).toBeCloseTo(0, 6);
    expect(hexToLab('#808080')[0]).toBeCloseTo(100 * luminanceToLightness(decodeSrgb(128 / 255)), 6);
    expect(Math.hypot(hexToLab('#808080')[1], hexToLab('#808080')[2])).toBeLessThan(1e-3);
  });

  test('a colour beyond sRGB is clipped, not wrapped', () => {
    expect(labToHex([100, 60, 60])).toMatch(/^#ff/);
    expect(labToHex([0, 0, 0])).toBe('#000000');
  });

  test.each(['4a2f20', '#4a2f2', '#4a2f2g', '', '#4a2f2000'])('%j is no colour', (text) => {
    expect(() => hexToLab(text)).toThrow(RangeError);
  });
});
