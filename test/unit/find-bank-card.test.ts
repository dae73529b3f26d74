import { describe, expect, test } from 'vitest';
import { findBankCard } from '../../src/vision/slab/find-bank-card.ts';
import {
  CAMERA,
  type Camera,
  corners,
  PLANK,
  project,
  renderSlabPhoto,
  SLICE,
  type SlabScene,
} from '../helpers/render-slab-photo.ts';

type Photo = ReturnType<typeof renderSlabPhoto>;

/** How far each corner that is found lies from the nearest true one, pixels. */
function offBy(photo: Photo, scene: SlabScene, camera: Camera): number {
  const truth = corners(scene.card!).map((at) => project(camera, at));
  const found = findBankCard(photo);
  expect(found).not.toBeNull();
  return Math.max(...truth.map(([x, y]) => Math.min(...found!.map((at) => Math.hypot(at[0] - x, at[1] - y)))));
}

/** Darker where a shadow lies, with a soft edge. */
function shaded(photo: Photo, lightAt: (x: number, y: number) => number): Photo {
  const rgba = photo.rgba.slice();
  for (let i = 0; i < photo.width * photo.height; i++) {
    const share = lightAt(i % photo.width, Math.floor(i / photo.width)) ** (1 / 2.2);
    for (let c = 0; c < 3; c++) rgba[4 * i + c] = Math.round(rgba[4 * i + c] * share);
  }
  return { ...photo, rgba };
}

function blurred(photo: Photo, radius: number): Photo {
  const { width, height } = photo;
  let from = photo.rgba;
  for (const [dx, dy] of [
    [1, 0],
    [0, 1],
  ]) {
    const to = from.slice();
    for (let y = radius; y < height - radius; y++) {
      for (let x = radius; x < width - radius; x++) {
        for (let c = 0; c < 3; c++) {
          let sum = 0;
          for (let k = -radius; k <= radius; k++) sum += from[4 * ((y + k * dy) * width + x + k * dx) + c];
          to[4 * (y * width + x) + c] = Math.round(sum / (2 * radius + 1));
        }
      }
    }
    from = to;
  }
  return { ...photo, rgba: from };
}

const SMALL: Camera = { ...CAMERA, width: 600, height: 482, focalPx: 1229 };

const onSlab: SlabScene = { ...SLICE, card: { at: [40, 30], turnRad: -0.5 }, knot: null };

describe('a bank card in a photograph of a slab', () => {
  test.each([
    ['beside the slab, the camera askew', SLICE, SMALL],
    ['from straight above', SLICE, { ...SMALL, tiltRad: 0, turnRad: 0, distanceMm: 960 }],
    ['far askew', SLICE, { ...SMALL, tiltRad: 0.5, turnRad: -0.3, distanceMm: 1000 }],
    ['on the slab', onSlab, SMALL],
    ['on a table nearly as light as it', { ...SLICE, table: [0.6, 0.6, 0.58] }, SMALL],
  ] satisfies [string, SlabScene, Camera][])('%s: corners within a pixel', (_, scene, camera) => {
    expect(offBy(renderSlabPhoto(scene, camera), scene, camera)).toBeLessThan(1);
  });

  test('with a shadow over half of it, and out of focus', () => {
    const photo = renderSlabPhoto(SLICE, SMALL);
    const [x] = project(SMALL, SLICE.card!.at);
    // From full light to half of it over some 20 pixels, slanting across the card.
    const shadow = shaded(photo, (px, py) => 0.5 + 0.5 / (1 + Math.exp((px + 0.4 * py - x - 0.4 * 400) / 5)));
    expect(offBy(shadow, SLICE, SMALL)).toBeLessThan(1.5);
    expect(offBy(blurred(photo, 3), SLICE, SMALL)).toBeLessThan(1.5);
  });

  test('of another colour, darker than the table', () => {
    const photo = renderSlabPhoto(SLICE, SMALL);
    const rgba = photo.rgba.slice();
    for (let i = 0; i < rgba.length; i += 4) {
      if (Math.min(rgba[i], rgba[i + 1], rgba[i + 2]) > 190) rgba.set([40, 52, 96], i);
    }
    expect(offBy({ ...photo, rgba }, SLICE, SMALL)).toBeLessThan(1.5);
  });

  test('is not found where there is none', () => {
    expect(findBankCard(renderSlabPhoto({ ...SLICE, card: null }, SMALL))).toBeNull();
    expect(findBankCard(renderSlabPhoto(PLANK, SMALL))).toBeNull();
    expect(findBankCard({ width: 300, height: 200, rgba: new Uint8Array(240_000).fill(128) })).toBeNull();
  });

  test('begins at the left top, clockwise', () => {
    const [a, b, c, d] = findBankCard(renderSlabPhoto(SLICE, SMALL))!;
    expect(a[0]).toBeLessThan(b[0]);
    expect(b[1]).toBeLessThan(c[1]);
    expect(d[0]).toBeLessThan(c[0]);
    expect(a[1]).toBeLessThan(d[1]);
  });
});
