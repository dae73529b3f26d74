import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { decodeNpy, encodeNpy } from '../../src/base/npy.ts';

/** Files written by numpy.save (test/fixtures/image/make-npy.py). */
const fixture = (name: string) => new Uint8Array(readFileSync(new URL(`../fixtures/image/${name}`, import.meta.url)));

describe('NumPy array files', () => {
  test('are byte for byte what numpy.save writes', () => {
    const data = Float32Array.of(0, 1.5, -2.25, 3e-7, 65504, 1 / 3);
    expect(encodeNpy(data, [2, 3])).toEqual(fixture('array-2x3.npy'));
    expect(encodeNpy(Float32Array.of(0, 1, 2, 3, 4), [5])).toEqual(fixture('array-5.npy'));
  });

  test('written by numpy.save are read', () => {
    const { shape, data } = decodeNpy(fixture('array-2x3.npy'));
    expect(shape).toEqual([2, 3]);
    expect(data).toEqual(Float32Array.of(0, 1.5, -2.25, 3e-7, 65504, 1 / 3));
    expect(decodeNpy(fixture('array-5.npy')).shape).toEqual([5]);
  });

  test.each([[[0, 4]], [[1, 1]], [[3, 2, 2]], [[]], [[1234567, 0, 1]]])('of shape %j come back', (shape) => {
    const data = new Float32Array(shape.reduce((product, size) => product * size, 1)).fill(Number.NaN);
    const bytes = encodeNpy(data, shape);
    expect(decodeNpy(bytes)).toEqual({ shape, data });
    expect((bytes.length - 4 * data.length) % 64).toBe(0);
  });

  test('of another kind are refused', () => {
    expect(() => encodeNpy(new Float32Array(5), [2, 3])).toThrow(RangeError);
    expect(() => encodeNpy(new Float32Array(6), [-2, -3])).toThrow(RangeError);
    const bytes = encodeNpy(new Float32Array(6), [2, 3]);
    expect(() => decodeNpy(bytes.subarray(0, -1))).toThrow(RangeError);
    expect(() => decodeNpy(bytes.subarray(1))).toThrow(RangeError);
    const doubles = Uint8Array.from(bytes);
    doubles[Buffer.from(bytes).indexOf('<f4') + 2] = '8'.charCodeAt(0);
    expect(() => decodeNpy(doubles)).toThrow(RangeError);
  });
});
