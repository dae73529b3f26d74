import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { pixelsToSrgb, readIccProfile } from '../../src/image/profile/icc.ts';

interface Case {
  readonly name: string;
  readonly profile: string;
  readonly colours: readonly number[];
  readonly srgb: readonly number[];
}

/** What Little CMS 2.14 makes of colours in profiles that a Python script built; its generator lies beside the fixture. */
const { cases } = JSON.parse(readFileSync('test/fixtures/image/profiles/profiles.json', 'utf8')) as { cases: Case[] };

describe('pixelsToSrgb against Little CMS, relative colorimetric', () => {
  test.each(cases)('$name', ({ name, profile, colours, srgb }) => {
    const channels = name.startsWith('grey') ? 1 : 3;
    const count = colours.length / channels;
    const linear = readIccProfile(new Uint8Array(Buffer.from(profile, 'base64')));
    if (!linear) throw new Error('the profile was not read');
    const deep = pixelsToSrgb(
      { width: count, height: 1, channels, data: Uint16Array.from(colours, (value) => 257 * value) },
      linear,
    ).data;
    const off = srgb.map((code, i) => Math.abs(deep[channels === 1 ? Math.floor(i / 3) : i] / 257 - code));
    // Both round: Little CMS to eight bits, and inside to its own tables.
    expect(Math.max(...off)).toBeLessThan(1.1);
    expect(off.reduce((sum, value) => sum + value, 0) / off.length).toBeLessThan(0.35);
    const shallow = pixelsToSrgb({ width: count, height: 1, channels, data: Uint8Array.from(colours) }, linear).data;
    if (shallow instanceof Uint16Array) expect(Array.from(shallow)).toEqual(Array.from(deep));
  });
});
