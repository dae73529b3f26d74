import { describe, expect, test } from 'vitest';
import {
  contrastSensitivity,
  cyclesPerDeg,
  integrationSideDeg,
  lineSpreadDeg,
  opticalTransfer,
  relativeSensitivity,
  retinalIlluminance,
} from '../../src/studies/diagnose/tally.ts';

/**
 * Barten 1999. Published values: documentation of `colour.contrast.contrast_sensitivity_function_Barten1999` and of its parts in the Python
 * package colour-science (colour/contrast/barten1999.py), printed to ten digits.
 */
describe('contrast sensitivity after Barten 1999', () => {
  test('its parts', () => {
    expect(opticalTransfer(4, 0.01)).toBeCloseTo(0.968910791, 8);
    expect(opticalTransfer(8, 0.01)).toBeCloseTo(0.881323136, 8);
    expect(lineSpreadDeg(0.5 / 60, 0.08 / 60, 2.1)).toBeCloseTo(0.008791157, 8);
    expect(retinalIlluminance(20, 2.1)).toBeCloseTo(66.082316, 5);
    expect(integrationSideDeg(4, 60, 12, 15)).toBeCloseTo(3.572948, 6);
  });
  test('at 4 cycles per degree', () => {
    expect(contrastSensitivity(4)).toBeCloseTo(360.8691122, 6);
  });
  test.each([
    // Computed from the same equation with the published program.
    [0.5, 325.022],
    [1, 500.388],
    [2, 525.924],
    [8, 186.164],
    [16, 70.969],
    [32, 11.024],
  ])('at %f cycles per degree', (perDeg, wanted) => {
    expect(contrastSensitivity(perDeg)).toBeCloseTo(wanted, 3);
  });
  test('from 400 mm a cycle per mm is 6.98 cycles per degree (geometry)', () => {
    expect(cyclesPerDeg(1, 400)).toBeCloseTo(6.981, 3);
    expect(cyclesPerDeg(5, 400)).toBeCloseTo(34.9, 1);
  });
  test('over its peak it is at most 1, and dots of 0.1 mm are not seen from arm’s length', () => {
    for (let u = 0.1; u < 60; u *= 1.1) expect(relativeSensitivity(u)).toBeLessThanOrEqual(1);
    expect(relativeSensitivity(1.6)).toBeGreaterThan(0.95);
    expect(relativeSensitivity(34.9)).toBeLessThan(0.02);
  });
});
