import { describe, expect, it } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { drawFace, placeWood, shownPhoto } from '../../src/render/model/face-map.ts';
import { slabParts } from '../../src/render/model/slab-parts.ts';
import { evenSurface, SMALL_PARTS, SMALL_SLAB } from '../helpers/small-face.ts';

const PLACE = { file: 'slab.jpg', xMm: 10, yMm: 0, widthMm: 80, heightMm: 60, shown: true };
const [WEST, EAST] = [
  [200, 120, 60],
  [60, 120, 200],
];

/** A photograph of two colours that meet at x = 10 mm. */
const wood = placeWood(PLACE, {
  width: 160,
  height: 120,
  data: Uint8Array.from({ length: 160 * 120 * 4 }, (_, i) => {
    const channel = i % 4;
    return channel === 3 ? 255 : (Math.floor(i / 4) % 160 < 80 ? WEST : EAST)[channel];
  }),
});
const bare = evenSurface(120, 96, 0.5, [150, 120, 80, 0]);
const colorAt = ({ width, color }: { width: number; color: Uint8Array }, x: number, y: number) => [
  ...color.subarray(4 * (y * width + x), 4 * (y * width + x) + 3),
];

describe('a slab shown as it was photographed', () => {
  it('has the photograph where it is bare, at its place, and paint where it is painted', () => {
    const face = drawFace({ ...SMALL_PARTS, ground: bare, proof: null, wood }, 120);
    // 60 mm over 120 pixels: x = 10 mm is pixel 80.
    expect(colorAt(face, 78, 40)).toEqual(WEST);
    expect(colorAt(face, 82, 40)).toEqual(EAST);
    const painted = drawFace({ ...SMALL_PARTS, proof: null, wood }, 120);
    expect(colorAt(painted, 78, 40)).toEqual([70, 50, 40]);
  });

  it('is darkened by the beam by the same factor as the grown wood', () => {
    const proof = evenSurface(200, 150, 0.2, [75, 60, 40, 0]);
    const face = drawFace({ ...SMALL_PARTS, ground: bare, proof, wood }, 120);
    const linear = (code: number) => (code > 10.31 ? ((code / 255 + 0.055) / 1.055) ** 2.4 : code / 255 / 12.92);
    colorAt(face, 60, 40).forEach((code, k) => {
      expect(linear(code) / linear(WEST[k])).toBeCloseTo(linear([75, 60, 40][k]) / linear([150, 120, 80][k]), 1);
    });
    expect(colorAt(face, 60, 40)[0]).toBeLessThan(WEST[0] - 60);
  });

  it('lends its colours to the rim', () => {
    const plain = slabParts(SMALL_SLAB).rimMap;
    const { rimMap } = slabParts(SMALL_SLAB, wood);
    const mean = (color: Uint8Array, from: number, k: number) => {
      let sum = 0;
      for (let x = from; x < from + 20; x++) sum += colorAt({ width: plain.width, color }, x, 2)[k];
      return sum / 20;
    };
    for (const k of [0, 1, 2]) {
      // The outline begins in the east.
      expect(mean(rimMap.color, 0, k)).toBeCloseTo(EAST[k], 0);
      expect(mean(rimMap.color, plain.width / 2 - 10, k)).toBeCloseTo(WEST[k], 0);
    }
    const foot = colorAt({ width: rimMap.width, color: rimMap.color }, 5, rimMap.height - 3);
    expect(foot[2]).toBeGreaterThan(foot[0]);
  });

  it('is shown only where the maker wants it, on a traced outline', () => {
    const { slab } = createPiece('', 'p.jpg');
    expect(shownPhoto({ ...slab, photo: PLACE })).toBeNull();
    expect(shownPhoto({ ...slab, shape: 'outline', photo: PLACE })).toEqual(PLACE);
    expect(shownPhoto({ ...slab, shape: 'outline', photo: { ...PLACE, shown: false } })).toBeNull();
  });
});
