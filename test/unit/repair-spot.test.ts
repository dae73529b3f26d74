import { describe, expect, test } from 'vitest';
import { blurGaussian } from '../../src/image/gaussian-blur.ts';
import { detailLost } from '../../src/image/repair/clahe.ts';
import { sharpenForSpot, spotTransfer } from '../../src/image/repair/spot-sharpening.ts';
import { applyUnsharpMask } from '../../src/image/tone.ts';

const SIDE = 240;
/** A sine across the rows, `period` rows long. */
const sine = (period: number, contrast = 0.1) =>
  Float32Array.from(
    { length: SIDE * SIDE },
    (_, i) => 0.5 + contrast * Math.cos((2 * Math.PI * Math.floor(i / SIDE)) / period),
  );
/** Contrast of the sine that is left, away from the edges. */
function contrastOf(plane: Float32Array, period: number): number {
  let [cosine, rows] = [0, 0];
  for (let y = 60; y < 180; y++) {
    cosine += plane[y * SIDE + 100] * Math.cos((2 * Math.PI * y) / period);
    rows++;
  }
  return (2 * cosine) / rows;
}

describe('spotTransfer', () => {
  test('is what the line profile exp(−2y²/w²) makes of a sine, by quadrature', () => {
    for (const [w, f] of [
      [0.1, 2.5],
      [0.05, 5],
      [0.2, 1],
      [0.1, 0],
    ]) {
      let [passed, all] = [0, 0];
      for (let y = -8 * w; y <= 8 * w; y += w / 200) {
        const profile = Math.exp((-2 * y * y) / (w * w));
        passed += profile * Math.cos(2 * Math.PI * f * y);
        all += profile;
      }
      expect(spotTransfer(w, f)).toBeCloseTo(passed / all, 6);
    }
  });
});

describe('sharpenForSpot', () => {
  test.each([
    // Spot radius over pitch; the second number is the pitch.
    [1, 0.1],
    [1.5, 0.1],
    [0.6, 0.2],
    [1, 0.0847],
  ])('spot of %d pitches: sharpened and blurred by the beam, half of Nyquist keeps its contrast', (ratio, pitchMm) => {
    const { settings, passed, combined } = sharpenForSpot(ratio * pitchMm, pitchMm);
    expect(combined).toBeCloseTo(1, 10);
    expect(passed).toBeCloseTo(Math.exp(-((Math.PI * ratio) ** 2) / 32), 10);
    const image = { width: SIDE, height: SIDE, lightness: sine(4), mask: new Uint8Array(SIDE * SIDE).fill(255) };
    applyUnsharpMask(image, settings, pitchMm);
    // The beam's own blur is a continuous one, so it acts on the sine as its transfer says.
    expect((contrastOf(image.lightness, 4) / 0.1) * passed).toBeCloseTo(1, 3);
  });

  test('a broad spot is not sharpened without end, a fine one hardly', () => {
    const broad = sharpenForSpot(0.4, 0.1);
    expect(broad.settings.amount).toBe(3);
    expect(broad.combined).toBeLessThan(0.1);
    const fine = sharpenForSpot(0.02, 0.1);
    expect(fine.settings.amount).toBeLessThan(0.06);
    expect(fine.settings.radiusMm).toBe(0.05);
    expect(() => sharpenForSpot(0, 0.1)).toThrow(RangeError);
    expect(() => sharpenForSpot(0.1, Number.NaN)).toThrow(RangeError);
  });
});

describe('detailLost', () => {
  test.each([
    [4, 0.2],
    [6, 0.2],
    [5, 0.3],
  ])('of a sine of %i rows the beam of %d mm loses 1 − MTF', (period, spot) => {
    const { share, lost } = detailLost(sine(period), SIDE, SIDE, spot, 0.1);
    const expected = 1 - spotTransfer(spot, 1 / (period * 0.1));
    expect(Math.abs(share - expected)).toBeLessThan(0.01);
    // At a crest what is lost is that share of the fine part, itself the sine less what a blur over two rows leaves.
    const fine = 0.1 * (1 - Math.exp(-2 * ((Math.PI * 2) / period) ** 2));
    const crest = Math.ceil(100 / period) * period;
    expect(lost[crest * SIDE + 100]).toBeCloseTo(fine * expected, 2);
  });

  test('marks where the fine detail is, and nowhere else', () => {
    const plane = sine(4).map((value, i) => (i % SIDE < SIDE / 2 ? 0.5 : value));
    const { lost } = detailLost(plane, SIDE, SIDE, 0.2, 0.1);
    const row = 100 * SIDE;
    expect(lost[row + 40]).toBeLessThan(1e-6);
    expect(lost[row + 200]).toBeGreaterThan(0.05);
  });

  test('a wider beam loses more, none loses nothing, a flat picture has nothing to lose', () => {
    const plane = sine(5);
    const shares = [0, 0.05, 0.1, 0.2, 0.4].map((spot) => detailLost(plane, SIDE, SIDE, spot, 0.1).share);
    expect(shares[0]).toBe(0);
    for (let i = 1; i < shares.length; i++) expect(shares[i]).toBeGreaterThan(shares[i - 1]);
    expect(shares[4]).toBeLessThanOrEqual(1);
    const flat = detailLost(new Float32Array(600).fill(0.6), 30, 20, 0.2, 0.1);
    expect(flat.share).toBe(0);
    expect(Math.max(...flat.lost)).toBeLessThan(1e-6);
    expect(detailLost(new Float32Array(0), 0, 0, 0.1, 0.1)).toEqual({ share: 0, lost: new Float32Array(0) });
    expect(() => detailLost(plane, SIDE, SIDE, 0.1, 0)).toThrow(RangeError);
  });

  test('slopes and soft shading are not fine detail', () => {
    const slope = Float32Array.from({ length: SIDE * SIDE }, (_, i) => 0.2 + (0.6 * (i % SIDE)) / SIDE);
    const { lost } = detailLost(slope, SIDE, SIDE, 0.2, 0.1);
    for (let x = 20; x < SIDE - 20; x++) expect(lost[100 * SIDE + x]).toBeLessThan(1e-5);
    expect(blurGaussian(slope, SIDE, SIDE, 2)[100 * SIDE + 120]).toBeCloseTo(slope[100 * SIDE + 120], 5);
  });
});
