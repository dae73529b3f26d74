import { describe, expect, test } from 'vitest';
import * as units from '../../src/base/units.ts';

describe('units', () => {
  test.each([
    [units.degToRad(180), Math.PI],
    [units.radToDeg(Math.PI / 2), 90],
    [units.mmPerMinToMmPerS(6000), 100],
    [units.mmPerSToMmPerMin(100), 6000],
    [units.inchToMm(2), 50.8],
    [units.mmToInch(25.4), 1],
    [units.pitchMmToRowsPerInch(0.1), 254],
    [units.umToMm(25), 0.025],
    [units.percentToRatio(62.5), 0.625],
    [units.ratioToPercent(0.625), 62.5],
  ])('%f is %f', (value, wanted) => expect(value).toBeCloseTo(wanted, 12));
});
