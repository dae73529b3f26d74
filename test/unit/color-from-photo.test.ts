import { describe, expect, test } from 'vitest';
import {
  colorDifference,
  differenceWords,
  type Lab,
  labToLinearRgb,
  PATCH_REFERENCES,
  referenceLab,
} from '../../src/base/color/lab.ts';
import { colorFromPhoto, meanPatch } from '../../src/base/color/patch.ts';
import { encodeSrgb } from '../../src/base/color/srgb.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { boxByKey, boxPixels } from '../../src/page/fields/ColorControl.tsx';
import { BARK_LAB, kinship } from '../../src/physics/material/hiding.ts';
import { woodOf } from '../../src/piece/defaults.ts';

const PEAT: Lab = [29, 3, 4.5];
const PAPER: Lab = [95, 0, 0];
const DAYLIGHT = [0.8, 0.8, 0.8];

interface Shot {
  light?: readonly number[];
  /** Standard deviation of the noise, bytes. */
  noise?: number;
  count?: number;
  /** Share of pixels that show something else. */
  stray?: { lab: Lab; share: number };
}

/** Pixels that an ideal camera, whose filters are those of sRGB, takes of a colour. */
function shoot(lab: Lab, { light = DAYLIGHT, noise = 1.5, count = 2500, stray }: Shot = {}) {
  const random = createGenerator(7);
  const bytes = new Uint8ClampedArray(4 * count);
  for (let i = 0; i < count; i++) {
    const seen = labToLinearRgb(stray && i < stray.share * count ? stray.lab : lab);
    for (let k = 0; k < 3; k++) {
      bytes[4 * i + k] = 255 * encodeSrgb(Math.max(0, seen[k] * light[k])) + noise * random.nextNormal();
    }
    bytes[4 * i + 3] = 255;
  }
  return meanPatch(bytes);
}
const reasonOf = (patch: ReturnType<typeof shoot>, reference: ReturnType<typeof shoot>, lab = PAPER) => {
  const reading = colorFromPhoto(patch, reference, lab);
  return reading.kind === 'refused' ? reading.reason : null;
};

describe('a planted colour in a photograph', () => {
  test.each([
    ['daylight', DAYLIGHT],
    ['a warm lamp', [0.9, 0.66, 0.38]],
    ['a bluish sky', [0.55, 0.66, 0.85]],
    ['too little of it', [0.22, 0.2, 0.17]],
  ])('is found in %s', (_, light) => {
    for (const lab of [PEAT, [90, 0.5, 8], [52, -12, 20], [20, 10, 12]] as Lab[]) {
      for (const { lab: known } of PATCH_REFERENCES) {
        if (!known) continue;
        const reference: Lab = [known[0], known[1], known[2]];
        const reading = colorFromPhoto(shoot(lab, { light }), shoot(reference, { light }), reference);
        if (reading.kind !== 'color') throw new Error(reading.reason);
        expect(colorDifference(reading.lab, lab)).toBeLessThan(0.5);
      }
    }
  });

  test('the spread is that of the paint, however bright the photograph is', () => {
    // Two tones, half and half, in a bright and in a dark shot: the same paint, the same unevenness.
    const spreads = [0.9, 0.25].map((level) => {
      const shot = { light: [level, level, level], noise: 0 };
      const reading = colorFromPhoto(
        shoot(PEAT, { ...shot, stray: { lab: [31, 3, 4.5], share: 0.5 } }),
        shoot(PAPER, shot),
        PAPER,
      );
      if (reading.kind !== 'color') throw new Error(reading.reason);
      return reading.spread;
    });
    // Half the ΔE00 between the two tones, on both sides of their mean; a byte is worth 0.2 in the dark shot.
    const half = colorDifference(PEAT, [31, 3, 4.5]) / 2;
    for (const spread of spreads) expect(Math.abs(spread - half)).toBeLessThan(0.15);
  });

  test('large rectangles are thinned out evenly', () => {
    // Only the first third is painted; a reader that takes the first pixels alone would not see the rest.
    const patch = shoot(PAPER, { noise: 0, count: 200_000, stray: { lab: PEAT, share: 1 / 3 } });
    const share = labToLinearRgb(PEAT)[1] / 3 + (2 / 3) * labToLinearRgb(PAPER)[1];
    expect(patch.rgb[1]).toBeCloseTo(0.8 * share, 2);
    expect(patch.pixels).toBe(200_000);
    expect(patch.samples.length).toBeGreaterThan(100);
    expect(patch.samples.length).toBeLessThanOrEqual(400);
  });
});

describe('what is refused', () => {
  test('a little glare or dirt that would pull the colour away', () => {
    // Three hundredths of white lift the L* of peat by five and more, though nearly all pixels lie close together.
    expect(reasonOf(shoot(PEAT, { stray: { lab: [90, 0, 0], share: 0.03 } }), shoot(PAPER))).toMatch(
      /^The patch is uneven .* glare/,
    );
    expect(reasonOf(shoot(PEAT), shoot(PAPER, { stray: { lab: PEAT, share: 0.1 } }))).toMatch(
      /^The reference is uneven/,
    );
    // Noise of a small camera in poor light is no reason.
    expect(reasonOf(shoot(PEAT, { noise: 4 }), shoot(PAPER, { noise: 4 }))).toBeNull();
  });

  test('a reference that is clipped in a single channel', () => {
    expect(reasonOf(shoot(PEAT, { light: [1.25, 0.8, 0.5] }), shoot(PAPER, { light: [1.25, 0.8, 0.5] }))).toContain(
      'The reference is overexposed',
    );
  });

  test('a reference without light in one channel, and a patch that is all black', () => {
    const amber = { light: [0.8, 0.4, 0.01], noise: 0 };
    expect(reasonOf(shoot(PEAT, amber), shoot(PAPER, amber))).toContain('The reference is too dark');
    const shot = { light: [0.03, 0.03, 0.03], noise: 0 };
    expect(reasonOf(shoot([1, 0, 0], shot), shoot(PAPER, shot))).toContain('The patch is too dark');
  });

  test('no pixels at all', () => {
    expect(reasonOf(meanPatch([]), shoot(PAPER))).toContain('only 0 pixels');
  });
});

test('references: 18 % grey is L* 49.5, and the typed one is neutral', () => {
  // L* of Y = 0.18 by the formula of CIE 015: 49.496.
  expect(labToLinearRgb(referenceLab('grey', 1))[1]).toBeCloseTo(0.18, 3);
  expect(referenceLab('typed', 62)).toEqual([62, 0, 0]);
  expect(referenceLab('paper', 62)).toEqual(PAPER);
});

describe('rectangles on the photograph', () => {
  const box = { x: 0.7, y: 0.1, width: 0.3, height: 0.2 };

  test('keys move them, with Shift the far corner only; nothing leaves the picture', () => {
    expect(boxByKey(box, 'ArrowRight', false)).toEqual(box);
    expect(boxByKey(box, 'ArrowLeft', false)?.x).toBeCloseTo(0.69, 9);
    const wider = boxByKey(box, 'ArrowRight', true);
    expect(wider?.x).toBeCloseTo(0.7, 9);
    expect(wider?.width).toBeCloseTo(0.3, 9);
    const taller = boxByKey(box, 'ArrowDown', true);
    expect([taller?.y, taller?.height]).toEqual([0.1, expect.closeTo(0.21, 9)]);
    expect(boxByKey({ ...box, width: 0.01 }, 'ArrowLeft', true)?.width).toBe(0.01);
    expect(boxByKey(box, 'Enter', false)).toBeNull();
  });

  test('cover whole pixels on the canvas', () => {
    expect(boxPixels(box, 100, 50)).toEqual([70, 5, 30, 10]);
    const [left, top, width, height] = boxPixels({ x: 0.99, y: 0.99, width: 0.01, height: 0.01 }, 33, 33);
    expect(left + width).toBeLessThanOrEqual(33);
    expect(top + height).toBeLessThanOrEqual(33);
    expect(Math.min(width, height)).toBeGreaterThanOrEqual(1);
  });
});

describe('kinship', () => {
  test('says why for each way to be unnatural', () => {
    const lime = woodOf('lime');
    const concern = (lab: Lab) => kinship(lab, lime).concern;
    expect(concern(BARK_LAB)).toBeNull();
    expect(concern(lime.colorLab)).toBeNull();
    expect(concern([30, 12, -8])).toMatch(/purplish|reddish/);
    expect(concern([92, 0, 1])).toContain('lighter than the bark');
    // Near grey it has no hue to be wrong; at the same hue with more chroma it has.
    expect(concern([30, -1, -3])).toBeNull();
    expect(concern([30, -3, -9])).toContain('bluish');
    // What it is told to add is what it lacks.
    expect(concern([30, 14, 0])).toMatch(/reddish.* more yellow would help/);
    expect(concern([34, -14, 10])).toMatch(/greenish.* more red would help/);
  });

  test('a wood with more colour bears more', () => {
    const orange: Lab = [45, 18, 32];
    const pale = { ...woodOf('lime'), colorLab: [82, 2, 14] as Lab };
    const warm = { ...woodOf('pine'), colorLab: [70, 12, 34] as Lab };
    expect(kinship(orange, pale).concern).toContain('stronger than anything');
    expect(kinship(orange, warm).concern).toBeNull();
  });

  test('classes of difference change where Mokrzycki & Tatol (2011) put them', () => {
    for (const edge of [1, 2, 3.5, 5, 12]) {
      expect(differenceWords(edge - 0.01)).not.toBe(differenceWords(edge));
      expect(differenceWords(edge)).toBe(differenceWords(edge + 0.4));
    }
  });
});
