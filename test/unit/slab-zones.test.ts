import { describe, expect, test } from 'vitest';
import { areaMm2, medianRing, type Point, smoothRing } from '../../src/base/geometry/outline.ts';
import { bridgeGaps, rasterMask } from '../../src/base/geometry/raster-mask.ts';
import type { TrueSizePhoto } from '../../src/base/geometry/rgba-photo.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { suggestDefects } from '../../src/vision/slab/defects.ts';
import { findZones, fitLayers } from '../../src/vision/slab/zones.ts';

/** Lightness by depth, its borders blurred over one step, with rings and noise. */
function profile(bark: number, wood: number, levels: readonly [number, number, number], ring = 2): Float64Array {
  const random = createGenerator(9);
  const cover = (from: number, to: number, k: number): number =>
    Math.max(0, Math.min(to, k + 1.5) - Math.max(from, k - 0.5)) / 2;
  return Float64Array.from(
    { length: 110 },
    (_, k) =>
      levels[0] * cover(-9, bark, k) +
      levels[1] * cover(bark, wood, k) +
      levels[2] * cover(wood, 999, k) +
      ring * Math.sin(k / 1.6) * (k > wood ? 1 : 0) +
      0.5 * random.nextNormal(),
  );
}

describe('fitLayers', () => {
  test.each<[string, readonly [number, number, number]]>([
    ['dark bark, brown rim', [28, 40, 74]],
    ['grey bark lighter than the rim', [52, 33, 74]],
    ['white bark as light as the wood', [76, 35, 72]],
  ])('finds both borders: %s', (_, levels) => {
    const found = fitLayers(profile(20.4, 33.7, levels));
    expect(Math.abs((found?.bark ?? 0) - 20.4)).toBeLessThan(0.6);
    expect(Math.abs((found?.wood ?? 0) - 33.7)).toBeLessThan(0.6);
  });

  test('bark straight on the wood has no rim', () => {
    const found = fitLayers(profile(0, 25.2, [30, 30, 74]));
    expect(Math.abs((found?.wood ?? 0) - 25.2)).toBeLessThan(0.6);
    expect(found?.bark).toBe(found?.wood);
  });

  test.each([
    ['flat wood', profile(0, 0, [70, 70, 70], 0)],
    ['rings alone', profile(0, 0, [70, 70, 70], 5)],
    ['wood that darkens inwards', profile(20, 40, [74, 60, 45])],
    ['a short profile', Float64Array.of(20, 20, 80, 80)],
  ])('sees no step in %s', (_, lightness) => {
    expect(fitLayers(lightness)).toBeNull();
  });
});

describe('values round a closed line', () => {
  const n = Number.NaN;
  test('short gaps are bridged, over the end too; long ones stay', () => {
    expect(bridgeGaps([n, 4, 6, n, n, 12, n, n, n, 2], 2)).toEqual([3, 4, 6, 8, 10, 12, n, n, n, 2]);
    expect(bridgeGaps([n, n], 5)).toEqual([n, n]);
  });
  test('median passes over spikes and gaps, smoothing keeps the sum', () => {
    expect([...medianRing([1, 1, 90, 1, n, 1], 1)]).toEqual([1, 1, 1, 45.5, 1, 1]);
    const smooth = smoothRing([0, 0, 0, 8, 0, 0, 0, 0, 0, 0], 1);
    expect(smooth.reduce((sum, value) => sum + value, 0)).toBeCloseTo(8, 10);
    expect(smooth[2]).toBeCloseTo(smooth[4], 12);
  });
});

/** A round slab of 100 mm across in a photo of 0.25 mm a pixel, painted by its radius and place. */
function roundSlab(paint: (radius: number, x: number, y: number) => number): {
  photo: TrueSizePhoto;
  outline: Point[];
} {
  const side = 480;
  const rgba = new Uint8Array(4 * side * side);
  for (let i = 0; i < side * side; i++) {
    const x = ((i % side) + 0.5) / 4 - 60;
    const y = (Math.floor(i / side) + 0.5) / 4 - 60;
    const grey = Math.round(paint(Math.hypot(x, y), x, y));
    rgba.set([grey, grey, grey, 255], 4 * i);
  }
  const outline = Array.from(
    { length: 360 },
    (_, i): Point => [50 * Math.cos((i * Math.PI) / 180), 50 * Math.sin((i * Math.PI) / 180)],
  );
  return { photo: { width: side, height: side, rgba, mmPerPixel: 0.25, leftMm: -60, topMm: -60 }, outline };
}

describe('findZones', () => {
  const layered = (radius: number): number => (radius > 50 ? 128 : radius > 46 ? 50 : radius > 43.5 ? 85 : 200);

  test('bark, rim and wood of a round slab; the masking line 1 mm onto the rim', () => {
    const { photo, outline } = roundSlab(layered);
    const zones = findZones(photo, outline);
    expect(zones.seen).toBe(1);
    expect(zones.notes).toEqual([]);
    for (let i = 0; i < zones.line.length; i++) {
      expect(Math.abs(zones.barkInsetMm[i] - 4)).toBeLessThan(0.25);
      expect(Math.abs(zones.woodInsetMm[i] - 6.5)).toBeLessThan(0.25);
      expect(Math.abs(zones.maskInsetMm[i] - 5.5)).toBeLessThan(0.25);
    }
    expect(Math.abs(areaMm2(zones.paintable) / (Math.PI * 44.5 ** 2) - 1)).toBeLessThan(0.012);
  });

  test('a rim narrower than twice that is halved', () => {
    const { photo, outline } = roundSlab(layered);
    const zones = findZones(photo, outline, { ontoRimMm: 4 });
    for (const inset of zones.maskInsetMm) expect(Math.abs(inset - 5.25)).toBeLessThan(0.25);
  });

  test('without a step the given margin holds, and it says so', () => {
    const { photo, outline } = roundSlab((radius) => (radius > 50 ? 128 : 200));
    const zones = findZones(photo, outline, { marginMm: 5 });
    expect(zones.seen).toBe(0);
    expect(zones.notes.join()).toMatch(/5 mm inside the outline/);
    for (const inset of zones.maskInsetMm) expect(inset).toBeCloseTo(5, 9);
    expect(Math.abs(areaMm2(zones.paintable) / (Math.PI * 45 ** 2) - 1)).toBeLessThan(0.002);
  });

  test('half with bark, half without: the margin where there is none', () => {
    const { photo, outline } = roundSlab((radius, x) => (x > 0 || radius > 50 ? layered(radius) : 200));
    const zones = findZones(photo, outline, { marginMm: 2 });
    expect(zones.seen).toBeGreaterThan(0.45);
    expect(zones.seen).toBeLessThan(0.55);
    expect(zones.notes.join()).toMatch(/On (4\d|5\d) % of the outline/);
    zones.line.forEach(([x], i) => {
      if (Math.abs(x) > 10) expect(Math.abs(zones.maskInsetMm[i] - (x > 0 ? 5.5 : 2))).toBeLessThan(0.25);
    });
  });

  test('refuses a margin below zero', () => {
    const { photo, outline } = roundSlab(layered);
    expect(() => findZones(photo, outline, { marginMm: -1 })).toThrow(RangeError);
  });
});

describe('suggestDefects', () => {
  const wood = (radius: number): number => 190 + 9 * Math.sin(radius * 2);

  test('rings alone are no defects', () => {
    const { photo, outline } = roundSlab(wood);
    expect(suggestDefects(photo, outline)).toEqual([]);
  });

  test('a disc is a knot, a bar a check, a bend neither; the larger comes first', () => {
    const { photo, outline } = roundSlab((radius, x, y) => {
      if (Math.hypot(x + 20, y - 8) < 6) return 90;
      // A bar of 30 × 1.5 mm, turned by 2.5 rad.
      const [c, s] = [Math.cos(2.5), Math.sin(2.5)];
      if (Math.abs(c * (x - 14) + s * (y + 10)) < 15 && Math.abs(-s * (x - 14) + c * (y + 10)) < 0.75) return 40;
      // A boomerang.
      if (Math.abs(x - 10) + Math.abs(y - 26) < 14 && (x < 0.5 || y > 36) && x + 40 > y) return 80;
      return wood(radius);
    });
    const found = suggestDefects(photo, outline);
    const knot = found.find((defect) => defect.kind === 'knot');
    const check = found.find((defect) => defect.kind === 'check');
    expect(knot).toMatchObject({
      xMm: expect.closeTo(-20, 0),
      yMm: expect.closeTo(8, 0),
      diameterMm: expect.closeTo(12, 0),
    });
    if (check?.kind !== 'check') throw new Error('no check was found');
    expect(Math.hypot(check.xMm - 14, check.yMm + 10)).toBeLessThan(0.5);
    expect(Math.abs(check.lengthMm - 30)).toBeLessThan(1.5);
    expect(Math.abs(check.widthMm - 1.5)).toBeLessThan(0.4);
    expect(check.headingRad).toBeCloseTo(2.5, 1);
    expect(found[0].kind).toBe('knot');
  });

  test('the rim outside the given wood is not looked at', () => {
    const { photo, outline } = roundSlab((radius) => (radius > 40 ? 60 : wood(radius)));
    const inner = outline.map(([x, y]): Point => [x * 0.8, y * 0.8]);
    expect(suggestDefects(photo, inner)).toEqual([]);
    expect(rasterMask(photo, inner, 1).some((value, i) => value && photo.rgba[4 * i] === 60)).toBe(false);
  });
});
