import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { lightnessToLuminance, luminancesToLightnesses } from '../../src/image/lightness.ts';
import { healPicture } from '../../src/image/mask/heal.ts';

const [WIDTH, HEIGHT] = [160, 120];

/** A slope with even grain over it, as lightness. */
function grainy(seed: number): Float32Array {
  const random = createGenerator(seed);
  return Float32Array.from(
    { length: WIDTH * HEIGHT },
    (_, i) => 0.3 + (0.3 * (i % WIDTH)) / WIDTH + 0.08 * (random.nextUnit() - 0.5),
  );
}

const pictureOf = (lightness: Float32Array) => ({
  width: WIDTH,
  height: HEIGHT,
  luminance: lightness.map(lightnessToLuminance),
  alpha: null,
});

/** Along a diagonal from (30, 20) to (120, 95). */
const points: [number, number][] = [
  [30 / WIDTH, 20 / WIDTH],
  [120 / WIDTH, 95 / WIDTH],
];

function distance(x: number, y: number): number {
  const [dx, dy] = [90, 75];
  const along = Math.min(1, Math.max(0, ((x - 30) * dx + (y - 20) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(x - 30 - along * dx, y - 20 - along * dy);
}

describe('the healing brush', () => {
  const whole = grainy(4);
  const scratched = whole.map((value, i) =>
    distance((i % WIDTH) + 0.5, Math.floor(i / WIDTH) + 0.5) < 2.5 ? 0.98 : value,
  );
  const inside = Array.from(whole.keys()).filter((i) => distance((i % WIDTH) + 0.5, Math.floor(i / WIDTH) + 0.5) < 3.5);
  const healed = healPicture(pictureOf(scratched), [{ points, radius: 4 / WIDTH }]);
  const after = luminancesToLightnesses(healed.luminance);

  test('takes a scratch away: the tone is that of its surroundings', () => {
    const off = inside.map((i) => after[i] - (0.3 + (0.3 * (i % WIDTH)) / WIDTH));
    expect(Math.abs(off.reduce((sum, value) => sum + value, 0) / off.length)).toBeLessThan(0.01);
    expect(Math.max(...off.map(Math.abs))).toBeLessThan(0.12);
  });

  test('puts grain back, as strong as round about', () => {
    const rms = (plane: Float32Array) =>
      Math.sqrt(
        inside.reduce((sum, i) => sum + (plane[i] - (0.3 + (0.3 * (i % WIDTH)) / WIDTH)) ** 2, 0) / inside.length,
      );
    expect(rms(after) / rms(whole)).toBeGreaterThan(0.75);
    expect(rms(after) / rms(whole)).toBeLessThan(1.35);
  });

  test('touches nothing beyond the stroke', () => {
    const before = pictureOf(scratched).luminance;
    for (let i = 0; i < before.length; i++) {
      if (distance((i % WIDTH) + 0.5, Math.floor(i / WIDTH) + 0.5) > 4.6) expect(healed.luminance[i]).toBe(before[i]);
    }
  });

  test('works at the rim of a small picture, and leaves one without strokes as it is', () => {
    const plain = pictureOf(whole);
    expect(healPicture(plain, [])).toBe(plain);
    const corner = healPicture(plain, [{ points: [[0, 0]], radius: 0.2 }]);
    expect(corner.luminance.every(Number.isFinite)).toBe(true);
    const all = healPicture(plain, [{ points: [[0.5, 0.4]], radius: 1 }]);
    expect(all.luminance.every(Number.isFinite)).toBe(true);
  });
});
