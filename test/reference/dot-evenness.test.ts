import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { createPreparation } from '../../src/burn/prepare.ts';
import { lightnessToLuminance, luminanceToLightness } from '../../src/image/lightness.ts';
import type { ScreenMethod } from '../../src/piece/schema.ts';
import { flatFilm, plainPiece } from '../helpers/burn.ts';
import { dotSpectrum } from '../helpers/dot-spectrum.ts';

const SIDE = 64;
const WIDTH = 4 * SIDE;
const HEIGHT = 3 * SIDE;

/** Dots, 0 or 1, of an even grey. */
function evenGrey(screen: ScreenMethod, lightness: number): Float32Array {
  const piece = flatFilm(plainPiece(WIDTH, { screen }));
  const luminance = new Float32Array(WIDTH * HEIGHT).fill(lightnessToLuminance(lightness));
  const photo = {
    key: `${lightness}`,
    picture: { width: WIDTH, height: HEIGHT, luminance, alpha: null },
    castless: null,
  };
  const { levels } = createPreparation().screen(photo, piece, piece.passes[0], () => true);
  return Float32Array.from(levels, (level) => level / 255);
}

/** Squares of a plane, side by side, from a row on. */
function squaresOf(plane: Float32Array, firstRow: number): Float32Array[] {
  const squares: Float32Array[] = [];
  for (let y = firstRow; y + SIDE <= HEIGHT; y += SIDE) {
    for (let x = 0; x + SIDE <= WIDTH; x += SIDE) {
      squares.push(
        Float32Array.from(
          { length: SIDE * SIDE },
          (_, i) => plane[(y + Math.floor(i / SIDE)) * WIDTH + x + (i % SIDE)],
        ),
      );
    }
  }
  return squares;
}

const shareOf = (dots: Float32Array): number => dots.reduce((sum, dot) => sum + dot, 0) / dots.length;

/** Power below half of what Ulichney calls the principal frequency, √g or √(1 − g) cycles a dot; 1 for dots thrown at random. */
function lowPower(squares: readonly Float32Array[]): number {
  const share = squares.reduce((sum, dots) => sum + shareOf(dots) / squares.length, 0);
  const { frequency, power } = dotSpectrum(squares, SIDE);
  const low = power.filter((_, i) => frequency[i] < Math.sqrt(Math.min(share, 1 - share)) / 2);
  return low.reduce((sum, value) => sum + value, 0) / low.length;
}

describe('the spectrum of dots', () => {
  test('is even in all directions for dots thrown at random, and has all its power in one place for lines', () => {
    const random = createGenerator(5);
    const noise = dotSpectrum(
      squaresOf(
        Float32Array.from({ length: WIDTH * HEIGHT }, () => +(random.nextUnit() < 0.3)),
        0,
      ),
      SIDE,
    );
    for (const power of noise.power.slice(2)) expect(Math.abs(power - 1)).toBeLessThan(0.25);
    expect(Math.max(...noise.anisotropyDb.slice(3).map(Math.abs))).toBeLessThan(3);
    const lines = dotSpectrum(
      squaresOf(
        Float32Array.from({ length: WIDTH * HEIGHT }, (_, i) => +(i % 4 === 0)),
        0,
      ),
      SIDE,
    );
    expect(lines.power.indexOf(Math.max(...lines.power))).toBe(SIDE / 4 - 1);
    expect(lines.anisotropyDb[SIDE / 4 - 1]).toBeGreaterThan(20);
  });
});

describe.each(['model-diffusion', 'direct-search'] as const)('%s', (screen) => {
  test.each([0.12, 0.3, 0.85, 0.97])('has little power at low frequencies in an even lightness of %f', (lightness) => {
    expect(lowPower(squaresOf(evenGrey(screen, lightness), SIDE))).toBeLessThan(0.25);
  });

  test.each([0.06, 0.5, 0.95])('begins as it goes on in an even lightness of %f: no line at the start', (lightness) => {
    const dots = evenGrey(screen, lightness);
    const rows = 8;
    const first = shareOf(dots.subarray(0, rows * WIDTH));
    const later = shareOf(dots.subarray(SIDE * WIDTH));
    // The shares' own noise, were dots thrown at random, would be a third of this.
    const bound = 3 * Math.sqrt((later * (1 - later)) / (rows * WIDTH));
    expect(Math.abs(first - later)).toBeLessThan(bound);
  });
});

describe('weights that go by the tone', () => {
  /** Most of what one direction has before the others in any ring, dB: Ulichney's anisotropy. */
  const mostAnisotropy = (screen: ScreenMethod, share: number) => {
    const squares = squaresOf(evenGrey(screen, luminanceToLightness(share)), SIDE);
    return { squares, most: Math.max(...dotSpectrum(squares, SIDE).anisotropyDb.slice(3)) };
  };

  test.each([1 / 4, 1 / 3, 1 / 2, 2 / 3])('have no worms and no checks where one share of %f is light', (share) => {
    const even = mostAnisotropy('tone-dependent', share);
    expect(even.most).toBeLessThan(10);
    expect(lowPower(even.squares)).toBeLessThan(0.25);
    expect(mostAnisotropy('floyd-steinberg', share).most).toBeGreaterThan(20);
  });
});
