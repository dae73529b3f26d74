import { describe, expect, test } from 'vitest';
import { HOME_POLAR_RAD, orbitOver, pixelSizeMm } from '../../src/render/slab/camera-rig.ts';

describe('the camera over a place', () => {
  const viewport = { width: 1200, height: 800, left: 300, right: 0, top: 100, bottom: 200 };

  test('looks at it from its own side of the table, so near that it fills four tenths of the free part', () => {
    const orbit = orbitOver(30, -20, 14, viewport, 0.7);
    expect(orbit).toMatchObject({ targetX: 30, targetZ: -20, azimuthRad: 0.7, polarRad: HOME_POLAR_RAD });
    // 500 px are free in height.
    expect(14 / pixelSizeMm(orbit, viewport.height)).toBeCloseTo(0.4 * 500, 6);
  });

  test('stands further off for a larger place', () => {
    const near = orbitOver(0, 0, 10, viewport, 0).distanceMm;
    expect(orbitOver(0, 0, 20, viewport, 0).distanceMm).toBeCloseTo(2 * near, 9);
  });
});
