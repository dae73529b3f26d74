import { describe, expect, test } from 'vitest';
import { createField } from '../../src/core/field.ts';
import * as units from '../../src/core/units.ts';

describe('createField', () => {
  test('zero-filled, or with the data given', () => {
    const field = createField('um', 3, 2, 0.1);
    expect(field).toEqual({ unit: 'um', width: 3, height: 2, pitchMm: 0.1, data: new Float32Array(6) });
    const data = Float32Array.of(1, 2);
    expect(createField('K', 1, 2, 1, data).data).toBe(data);
    expect(createField('1', 0, 5, 1).data).toHaveLength(0);
  });

  test.each([
    [1.5, 2, 0.1],
    [2, -1, 0.1],
    [Number.NaN, 2, 0.1],
    [2, Number.POSITIVE_INFINITY, 0.1],
    [2, 2, 0],
    [2, 2, -1],
    [2, 2, Number.NaN],
  ])('%f × %f at %f mm is no field', (width, height, pitchMm) => {
    expect(() => createField('mm', width, height, pitchMm, new Float32Array(4))).toThrow(RangeError);
  });

  test('the data must fit', () => {
    expect(() => createField('mm', 2, 2, 1, new Float32Array(5))).toThrow('a field of 2 × 2 needs 4 values, got 5');
  });
});

describe('units', () => {
  test.each([
    [units.degToRad(180), Math.PI],
    [units.radToDeg(Math.PI / 2), 90],
    [units.mmPerMinToMmPerS(6000), 100],
    [units.mmPerSToMmPerMin(100), 6000],
    [units.inchToMm(2), 50.8],
    [units.mmToInch(25.4), 1],
    [units.rowsPerInchToPitchMm(254), 0.1],
    [units.pitchMmToRowsPerInch(0.1), 254],
    [units.umToMm(25), 0.025],
    [units.mmToUm(0.025), 25],
    [units.percentToRatio(62.5), 0.625],
    [units.ratioToPercent(0.625), 62.5],
    [units.jPerCm2ToJPerMm2(75), 0.75],
  ])('%f is %f', (value, wanted) => expect(value).toBeCloseTo(wanted, 12));
});
