import { describe, expect, test } from 'vitest';
import { decodeSrgb, srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { type EncodedPixels, linearise } from '../../src/image/linearise.ts';

const rgba = (...data: number[]): EncodedPixels => ({
  width: data.length / 4,
  height: 1,
  channels: 4,
  data: Uint8ClampedArray.from(data),
});

describe('sRGB decoding', () => {
  test('of published values', () => {
    // IEC 61966-2-1; 0.18 ↔ 0.461356129500442 is the value that the colour-science package for Python tests against.
    expect(decodeSrgb(0.461356129500442)).toBeCloseTo(0.18, 12);
    expect(decodeSrgb(0)).toBe(0);
    expect(decodeSrgb(1)).toBe(1);
    expect(decodeSrgb(0.04045)).toBeCloseTo(0.04045 / 12.92, 15);
    expect(decodeSrgb(0.0404501)).toBeCloseTo(decodeSrgb(0.04045), 6);
  });

  test('tables of both depths agree where they share a value', () => {
    const table8 = srgbDecodingTable(8);
    const table16 = srgbDecodingTable(16);
    for (let code = 0; code < 256; code++) expect(table16[code * 257]).toBe(table8[code]);
  });
});

describe('linearise', () => {
  test('weights the primaries as Rec. 709 does', () => {
    const { luminance, alpha } = linearise(
      rgba(255, 0, 0, 255, 0, 255, 0, 255, 0, 0, 255, 255, 255, 255, 255, 255, 0, 0, 0, 255),
    );
    [0.2126, 0.7152, 0.0722, 1, 0].forEach((value, i) => {
      expect(luminance[i]).toBeCloseTo(value, 6);
    });
    expect(alpha).toBeNull();
  });

  test.each([
    ['grey', 1, [0, 188, 255]],
    ['grey and alpha', 2, [0, 255, 188, 255, 255, 255]],
    ['RGB', 3, [0, 0, 0, 188, 188, 188, 255, 255, 255]],
    ['RGBA', 4, [0, 0, 0, 255, 188, 188, 188, 255, 255, 255, 255, 255]],
  ] as const)('reads %s in 8 and 16 bits alike', (_, channels, codes) => {
    const eight = linearise({ width: 3, height: 1, channels, data: Uint8Array.from(codes) });
    const sixteen = linearise({ width: 3, height: 1, channels, data: Uint16Array.from(codes, (code) => code * 257) });
    expect(eight.luminance[1]).toBeCloseTo(0.5029, 4);
    expect(eight.luminance[2]).toBe(1);
    expect(sixteen).toEqual(eight);
    expect(eight.alpha).toBeNull();
  });

  test('keeps coverage when something is transparent', () => {
    const { luminance, alpha } = linearise(rgba(255, 255, 255, 255, 255, 255, 255, 51, 255, 255, 255, 0));
    expect(alpha?.[0]).toBe(1);
    expect(alpha?.[1]).toBeCloseTo(0.2, 6);
    expect(alpha?.[2]).toBe(0);
    expect(luminance[2]).toBe(1);
  });

  test('takes no pixels and refuses a wrong number of values', () => {
    expect(linearise({ width: 0, height: 0, channels: 4, data: new Uint8Array(0) }).luminance.length).toBe(0);
    expect(() => linearise({ width: 2, height: 2, channels: 3, data: new Uint8Array(11) })).toThrow(RangeError);
  });
});
