import { describe, expect, test } from 'vitest';
import { hidingWords, layerWords } from '../../src/page/physics/CoatControls.tsx';
import { DEFAULT_SLAB, DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT, woodOf } from '../../src/piece/defaults.ts';

const knot = { xMm: 0, yMm: 0, diameterMm: 24, tiltRad: 0, filled: true };
const numbers = (text: string) => [...text.matchAll(/ΔE ([\d.]+)/g)].map((match) => Number(match[1]));

describe('what a coat hides, in words', () => {
  const coats = [DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT];
  const knotty = { ...DEFAULT_SLAB, knots: [knot] };

  test('of a slab without a knot it speaks of the wood only', () => {
    expect(hidingWords(coats, 1, DEFAULT_SLAB)).toMatch(/ The rings of the lime \(ΔE 0\.\d\) will not show\.$/);
    expect(hidingWords(coats, 1, DEFAULT_SLAB)).not.toMatch(/knot/);
  });

  test('the knot shows through an undercoat that the rings do not; layers and contrast ratio stay', () => {
    const text = hidingWords(coats, 1, knotty);
    expect(text).toMatch(/^It does not hide .*contrast ratio 0\.94, 0\.98 hides\); it would take 7 applications/);
    expect(text).toMatch(/The knot will show through faintly \(ΔE [\d.]+\), the rings of the lime will not show \(ΔE/);
    const [ofKnot, ofRings] = numbers(text);
    expect(ofKnot).toBeGreaterThan(5 * ofRings);
  });

  test('a coat is seen with what lies under it, not with what lies over it', () => {
    const [overUndercoat] = numbers(hidingWords(coats, 0, knotty));
    const [alone] = numbers(hidingWords([DEFAULT_UNDERCOAT], 0, knotty));
    const [underTopCoat] = numbers(hidingWords(coats, 1, knotty));
    expect(overUndercoat).toBeLessThan(0.1);
    expect(underTopCoat).toBe(alone);
    expect(hidingWords(coats, 0, knotty)).toMatch(/With what is under it, the knot .* and the rings .* will not show/);
  });

  test('more than one knot, and wood that is no species of ours', () => {
    const slab = { wood: { ...woodOf('lime'), name: 'Lime, own values' }, knots: [knot, knot] };
    expect(hidingWords(coats, 1, slab)).toMatch(/The knots will .* the rings of this wood will/);
  });
});

describe('layers against what their maker calls usual', () => {
  const coat = (dryThicknessUm: number, layers: number) => ({
    dryThicknessUm,
    layers,
    usualLayerUm: [10, 25] as [number, number],
  });

  test('it is each application that counts, not the coat', () => {
    expect(layerWords(coat(100, 4))).toBeNull();
    expect(layerWords(coat(100, 10))).toBeNull();
    expect(layerWords(coat(80, 2))).toMatch(
      /^Each application is 40 µm; its maker calls 10 to 25 µm usual\. Thick .* more, thinner ones/,
    );
    expect(layerWords(coat(40, 1))).toMatch(/^The one application is 40 µm/);
  });

  test('too thin is said otherwise; no coat at all is not too thin', () => {
    expect(layerWords(coat(19, 4))).toMatch(/^Each application is 4\.8 µm; .*fewer, fuller/);
    expect(layerWords(coat(0, 1))).toBeNull();
  });
});
