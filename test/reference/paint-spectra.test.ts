import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { colorDifference, type Lab, labToXyz, REFERENCE_WHITE, xyzToLab } from '../../src/base/color/lab.ts';
import {
  BAND_COUNT,
  BAND_START_NM,
  BAND_STEP_NM,
  CMF_X,
  CMF_Y,
  CMF_Z,
  smoothestSpectrum,
  spectrumToXyz,
  type Triple,
  WHITE_XYZ,
} from '../../src/base/color/spectrum.ts';
import { coatAbsorptance } from '../../src/physics/material/layers.ts';

/**
 * A brown and a white matt paint: reflectances at 380 … 730 nm by 10 of the patches "dark skin" and "white 9.5 (.05 D)", averages over 30
 * charts, and their x, y, Y under ICC D50. Source of both: BabelColor (D. Pascale), "The ColorChecker (since 1976!)" and "ColorChecker
 * RGB and spectra", 2012, © D. Pascale, as quoted in the tables of the open library colour (colour-science, BSD-3-Clause).
 */
const BROWN = {
  reflectance: [
    0.055, 0.058, 0.061, 0.062, 0.062, 0.062, 0.062, 0.062, 0.062, 0.062, 0.062, 0.063, 0.065, 0.07, 0.076, 0.079,
    0.081, 0.084, 0.091, 0.103, 0.119, 0.134, 0.143, 0.147, 0.151, 0.158, 0.168, 0.179, 0.188, 0.19, 0.186, 0.181,
    0.182, 0.187, 0.196, 0.209,
  ],
  xyY: [0.4325, 0.3788, 0.1034] as Triple,
};
const WHITE = {
  reflectance: [
    0.189, 0.255, 0.423, 0.66, 0.811, 0.862, 0.877, 0.884, 0.891, 0.896, 0.899, 0.904, 0.907, 0.909, 0.911, 0.91, 0.911,
    0.914, 0.913, 0.916, 0.915, 0.916, 0.914, 0.915, 0.918, 0.919, 0.921, 0.923, 0.924, 0.922, 0.922, 0.925, 0.927,
    0.93, 0.93, 0.933,
  ],
  xyY: [0.3488, 0.3628, 0.9129] as Triple,
};

/** CIE 015 in the rounding of Debian's python3-colormath 3.0.0; generator beside it. */
const D50: { startNm: number; stepNm: number; power: number[] } = JSON.parse(
  readFileSync(join(import.meta.dirname, '../fixtures/color/d50.json'), 'utf8'),
);

/** L*a*b* relative to a white, through the project's own functions. */
const labOf = (xyz: Triple, white: Triple): Lab => {
  const [x, y, z] = xyz.map((value, i) => (value / white[i]) * REFERENCE_WHITE[i]);
  return xyzToLab([x, y, z]);
};
function xyzUnderD50(reflectance: readonly number[]): Triple {
  const sum = (curve: readonly number[], spectrum: readonly number[]) =>
    curve.reduce((total, value, i) => total + value * D50.power[i] * spectrum[i], 0);
  const full = sum(CMF_Y, new Array<number>(BAND_COUNT).fill(1));
  return [sum(CMF_X, reflectance) / full, sum(CMF_Y, reflectance) / full, sum(CMF_Z, reflectance) / full];
}
const D50_WHITE = xyzUnderD50(new Array<number>(BAND_COUNT).fill(1));

test('the fixture lies on the bands of the project’s tables', () => {
  expect([D50.startNm, D50.stepNm, D50.power.length]).toEqual([BAND_START_NM, BAND_STEP_NM, BAND_COUNT]);
  // ICC D50: x 0.3457, y 0.3585 (IEC 61966-2-1, annexes; ICC.1); five nanometres finer tables would meet the fourth digit.
  const total = D50_WHITE[0] + D50_WHITE[1] + D50_WHITE[2];
  expect(Math.abs(D50_WHITE[0] / total - 0.3457)).toBeLessThan(3e-4);
  expect(Math.abs(D50_WHITE[1] / total - 0.3585)).toBeLessThan(3e-4);
});

describe.each([
  ['brown', BROWN],
  ['white', WHITE],
])('%s paint', (_, { reflectance, xyY }) => {
  test('its spectrum gives the published x, y, Y under D50', () => {
    const [x, y, z] = xyzUnderD50(reflectance);
    const total = x + y + z;
    // Reflectances are printed to 0.001: evenly off by half of that is 0.0005 in Y, and of the order of 0.0005 in x and y of the brown.
    expect(Math.abs(x / total - xyY[0])).toBeLessThan(5e-4);
    expect(Math.abs(y / total - xyY[1])).toBeLessThan(5e-4);
    expect(Math.abs(y - xyY[2])).toBeLessThan(5e-4);
  });

  test('takes up of blue and green light what the engine assumes for such a colour', () => {
    const lab = labOf(spectrumToXyz(reflectance), WHITE_XYZ);
    for (const nm of [405, 450, 532]) {
      const place = (nm - BAND_START_NM) / BAND_STEP_NM;
      const [low, share] = [Math.floor(place), place % 1];
      const read = reflectance[low] * (1 - share) + reflectance[Math.min(low + 1, BAND_COUNT - 1)] * share;
      // Measured: the white off by at most 0.0102, at 532 nm, where the engine's table is a value from memory. The brown too low by 0.024 to
      // 0.045: the table's dark entry is this very paint, but it is given to coats below L* 35 only, and this one has 38.
      expect(Math.abs(coatAbsorptance(lab, nm) - (1 - read))).toBeLessThan(lab[0] > 90 ? 0.0105 : 0.0455);
    }
  });
});

/**
 * L*a*b* of the spectra, computed by a separate program from the tables of python3-colormath over 340–830 nm, the spectra carried on
 * past their ends: that and the third decimal make up the tolerance.
 */
describe('L*a*b*', () => {
  test.each([
    ['brown', BROWN, [38.424, 13.696, 14.421], [37.972, 12.111, 13.69]],
    ['white', WHITE, [96.526, -0.471, 2.423], [96.507, -0.904, 2.601]],
  ] as const)('%s under D50 and D65', (_, { reflectance }, inD50, inD65) => {
    labOf(xyzUnderD50(reflectance), D50_WHITE).forEach((value, i) => {
      expect(Math.abs(value - inD50[i])).toBeLessThan(0.0065);
    });
    labOf(spectrumToXyz(reflectance), WHITE_XYZ).forEach((value, i) => {
      expect(Math.abs(value - inD65[i])).toBeLessThan(0.0065);
    });
  });
});

describe('the smoothest spectrum of the same colour', () => {
  test.each([
    ['brown', BROWN, 0.02],
    ['white', WHITE, 0.016],
  ] as const)('is near the measured one of the %s between 430 and 700 nm', (_, { reflectance }, tolerance) => {
    // Source of the method: Burns, Color Res. Appl. 45 (2020). It cannot know the edge of titanium dioxide below 420 nm. Measured: 0.019 and
    // 0.015.
    const smooth = smoothestSpectrum(spectrumToXyz(reflectance));
    for (let i = 5; i <= 32; i++) expect(Math.abs(smooth[i] - reflectance[i])).toBeLessThan(tolerance);
    const back = labToXyz(labOf(spectrumToXyz(smooth), WHITE_XYZ));
    const aim = labToXyz(labOf(spectrumToXyz(reflectance), WHITE_XYZ));
    expect(colorDifference(xyzToLab(back), xyzToLab(aim))).toBeLessThan(1e-6);
  });
});
