import { describe, expect, test } from 'vitest';
import { components } from '../../src/base/geometry/raster-mask.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { Cancelled } from '../../src/base/stop.ts';
import { layMatte } from '../../src/image/mask/lay-matte.ts';
import { findMatte, MARK } from '../../src/image/mask/matte.ts';

const [WIDTH, HEIGHT] = [160, 120];

/** A head with an ear and fine hairs that stand off it, before a wall whose colour comes near and whose light falls off. */
function planted(): { cover: Float32Array; L: Float32Array; a: Float32Array; b: Float32Array } {
  const random = createGenerator(7);
  const cover = new Float32Array(WIDTH * HEIGHT);
  for (let i = 0; i < cover.length; i++) {
    const [x, y] = [(i % WIDTH) + 0.5, Math.floor(i / WIDTH) + 0.5];
    const head = 34 - Math.hypot((x - 80) / 1.1, y - 74);
    const ear = y > 14 && y < 50 ? (y - 14) * 0.35 - Math.abs(x - 62) : -9;
    const angle = Math.atan2(y - 74, x - 80);
    const off = Math.hypot(x - 80, y - 74);
    const hair = off < 46 && angle < -0.2 && angle > -1.2 ? 1.1 - Math.abs(Math.sin(angle * 9)) * off * 0.11 : -9;
    cover[i] = Math.min(1, Math.max(0, Math.max(head, ear, hair) + 0.5));
  }
  const grain = () => random.nextNormal();
  const L = cover.map((c, i) => c * (38 + 3 * grain()) + (1 - c) * (78 - (14 * (i % WIDTH)) / WIDTH + 2 * grain()));
  const a = cover.map((c) => c * 8 + (1 - c) * 2 + grain());
  const b = cover.map((c) => c * 22 + (1 - c) * 6 + grain());
  return { cover, L, a, b };
}

function marksAt(dots: readonly (readonly [x: number, y: number, mark: number])[], radius = 2): Uint8Array {
  const marks = new Uint8Array(WIDTH * HEIGHT);
  for (const [x, y, mark] of dots) {
    for (let v = y - radius; v <= y + radius; v++) {
      for (let u = x - radius; u <= x + radius; u++) marks[v * WIDTH + u] = mark;
    }
  }
  return marks;
}

describe('what stays of a picture', () => {
  const { cover, ...planes } = planted();
  const picture = { width: WIDTH, height: HEIGHT, ...planes };
  const marks = marksAt([
    [80, 80, MARK.stays],
    [12, 20, MARK.goes],
    [148, 30, MARK.goes],
  ]);

  test('is found from three dabs, ear and hair included, in one piece', async () => {
    const shares: number[] = [];
    const found = await findMatte(picture, marks, { onProgress: (share) => shares.push(share) });
    let [both, either] = [0, 0];
    for (let i = 0; i < found.length; i++) {
      both += Math.min(found[i] / 255, cover[i]);
      either += Math.max(found[i] / 255, cover[i]);
    }
    expect(both / either).toBeGreaterThan(0.93);
    const tip = Math.round(25) * WIDTH + 62;
    expect(found[tip]).toBeGreaterThan(200);
    expect(
      components(
        found.map((value) => (value > 127 ? 1 : 0)),
        WIDTH,
        HEIGHT,
      ),
    ).toHaveLength(1);
    // Hair is neither all there nor all gone.
    const soft = found.filter((value, i) => value > 25 && value < 230 && cover[i] > 0.05 && cover[i] < 0.95).length;
    expect(soft).toBeGreaterThan(40);
    expect(shares.every((share) => share >= 0 && share <= 1)).toBe(true);
  });

  test('keeps to the marks, wants one of each, and can be stopped', async () => {
    const odd = marks.slice();
    odd[70 * WIDTH + 95] = MARK.goes;
    expect((await findMatte(picture, odd))[70 * WIDTH + 95]).toBe(0);
    await expect(findMatte(picture, new Uint8Array(marks.length))).rejects.toThrow(/what stays/);
    await expect(findMatte(picture, marksAt([[80, 80, MARK.stays]]))).rejects.toThrow(/what goes/);
    const stop = new AbortController();
    stop.abort(new Cancelled());
    await expect(findMatte(picture, marks, { signal: stop.signal })).rejects.toThrow(Cancelled);
  });
});

describe('a matte over a mask', () => {
  const matte = { columns: 4, rows: 2, values: Uint8Array.from([0, 0, 255, 255, 0, 0, 255, 255]) };

  test('lies over all of the photograph, or over the cut that is used', () => {
    const all = layMatte(new Uint8Array(8 * 4).fill(255), 8, 4, matte, null);
    expect([...all.subarray(0, 8)]).toEqual([0, 0, 0, 64, 191, 255, 255, 255]);
    const right = { xMiddle: 0.75, yMiddle: 0.25, width: 0.5, height: 0.5, turnRad: 0 };
    expect(layMatte(new Uint8Array(16).fill(255), 4, 4, matte, right).every((value) => value > 180)).toBe(true);
    // Half a turn is no cut's, but a quarter shows which way: what was on the left comes to the bottom.
    const turned = layMatte(new Uint8Array(16).fill(255), 4, 4, matte, {
      xMiddle: 0.5,
      yMiddle: 0.25,
      width: 0.5,
      height: 0.5,
      turnRad: Math.PI / 2,
    });
    expect(turned[0]).toBe(255);
    expect(turned[15]).toBe(0);
    expect(layMatte(new Uint8Array(8 * 4), 8, 4, matte, null).every((value) => value === 0)).toBe(true);
  });
});
