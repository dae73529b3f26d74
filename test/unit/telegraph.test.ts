import { describe, expect, test } from 'vitest';
import { layOverRelief, telegraphedShare } from '../../src/physics/film/laid-film.ts';
import { createStackLayer } from '../../src/physics/material/laid-stack.ts';
import { DEFAULT_SLAB, DEFAULT_STACK, DEFAULT_UNDERCOAT, evenCoat, plainSlab } from '../../src/piece/defaults.ts';
import type { Slab, Stack } from '../../src/piece/schema.ts';

const EVEN: Stack = { ...DEFAULT_STACK, coats: DEFAULT_STACK.coats.map(evenCoat) };

/** Rows of the slab as it lies ready: films, and the height of the painted surface over its mean. */
function lay(slab: Slab, stack: Stack, xMm: number, yMm: number, cells = 200) {
  const layer = createStackLayer(slab, stack);
  const films = stack.coats.map(() => new Float32Array(cells));
  const reliefUm = new Float32Array(cells);
  const row = { filmUm: films, reliefUm, density: new Float32Array(cells), shade: new Float32Array(cells) };
  layer.row({ originXMm: xMm, yMm, pitchMm: 0.1 }, row);
  return { films, reliefUm, surfaceUm: reliefUm.map((v, i) => v + films.reduce((sum, film) => sum + film[i], 0)) };
}
const spread = (values: Float32Array): number => {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / values.length);
};

describe('how coats follow the ground', () => {
  test('a coat that levels prints 1 − VS of the relief into its surface, layer by layer', () => {
    const coat = {
      ...evenCoat(DEFAULT_UNDERCOAT),
      dryThicknessUm: 60,
      layers: 1,
      volumeSolids: 0.4,
      sandedAfter: false,
    };
    expect(telegraphedShare(coat)).toBeCloseTo(0.6, 2);
    expect(telegraphedShare({ ...coat, layers: 2, dryThicknessUm: 120 })).toBeCloseTo(0.36, 2);
    // Thinned paint has fewer solids: more of the ground comes through.
    expect(telegraphedShare({ ...coat, thinnerShare: 0.25 })).toBeCloseTo(1 - 0.4 / 1.25, 2);
    expect(telegraphedShare({ ...coat, sandedAfter: true })).toBeCloseTo(0.12, 2);
    // So thin and stiff that nothing flows: the ground's relief stays.
    const brush = {
      kind: 'brushed',
      along: 'width',
      markSpacingMm: 1,
      markShare: 0,
      viscosityPaS: 900,
      openTimeS: 1,
    } as const;
    expect(telegraphedShare({ ...coat, dryThicknessUm: 2, application: brush })).toBeGreaterThan(0.98);
  });

  test('valleys hold VS · depth more film, and film and relief account for each other', () => {
    const film = new Float32Array(3).fill(20);
    const relief = Float32Array.from([-5, 0, 5]);
    layOverRelief(film, relief, 20, 0.6);
    expect([...film]).toEqual([22, 20, 18]);
    expect([...relief]).toEqual([-3, 0, 3]);
    // A crack takes no more than it can hold, a peak keeps a skin.
    const deep = Float32Array.from([-800, 800]);
    const thin = new Float32Array(2).fill(20);
    layOverRelief(thin, deep, 20, 0.6);
    expect(thin[0]).toBeCloseTo(50, 4);
    expect(thin[1]).toBeCloseTo(3, 4);
    expect(deep[0]).toBeCloseTo(-770, 3);
  });

  test('no sanding leaves visible grain under paint (common practice, no published source)', () => {
    const sanded = lay({ ...DEFAULT_SLAB, cut: 'plank' }, EVEN, 0, 10);
    const sawn = lay({ ...DEFAULT_SLAB, cut: 'plank', finish: 'as-sawn' }, EVEN, 0, 10);
    expect(spread(sawn.surfaceUm)).toBeGreaterThan(3 * spread(sanded.surfaceUm));
    // A tenth of a µm over a millimetre shows in raking light; so does a µm of a dark film that is to go.
    expect(spread(sawn.surfaceUm)).toBeGreaterThan(0.5);
    expect(spread(sawn.films[0])).toBeGreaterThan(0.4);
    expect(spread(sanded.films[0])).toBeLessThan(0.35);
  });

  test('a filled knot disappears, an unfilled check stays (common practice, no published source)', () => {
    const knot = { xMm: 0, yMm: 0, diameterMm: 20, tiltRad: 0, filled: true };
    const check = { xMm: 0, yMm: 0, lengthMm: 30, headingRad: Math.PI / 2, widthMm: 0.8, depthMm: 1, filled: false };
    const plain = plainSlab(DEFAULT_SLAB);
    const deep = (slab: Slab) => -Math.min(...lay(slab, EVEN, -10, 1).surfaceUm.map((v) => v - 75));
    expect(deep({ ...plain, knots: [knot] })).toBeLessThan(2);
    expect(deep({ ...plain, checks: [check] })).toBeGreaterThan(300);
    expect(deep({ ...plain, checks: [{ ...check, filled: true }] })).toBeLessThan(2);
  });
});

describe('a taped rim', () => {
  const slab: Slab = { ...plainSlab(DEFAULT_SLAB), shape: 'rectangle', widthMm: 100, heightMm: 60, maskedRimMm: 8 };

  test('is bare wood as far in as the tape reached', () => {
    const { films } = lay(slab, EVEN, -50, 0, 200);
    for (const film of films) {
      expect(film.slice(0, 80).every((um) => um === 0)).toBe(true);
      expect(film.slice(81).every((um) => um > 0)).toBe(true);
    }
  });

  test('paint that seeped stays within what was told, and comes and goes along the edge', () => {
    const seeping = { ...slab, seepMm: 2 };
    const edges = Array.from({ length: 60 }, (_, i) => {
      const { films } = lay(seeping, EVEN, -50, -20 + i * 0.7, 200);
      return films[0].findIndex((um) => um > 0) * 0.1;
    });
    expect(Math.max(...edges)).toBeCloseTo(8, 1);
    expect(Math.min(...edges)).toBeLessThan(7);
    // It follows a bell curve about the tape: four of its deviations in is out of reach.
    expect(Math.min(...edges)).toBeGreaterThan(8 - 2 * 4);
    expect(new Set(edges).size).toBeGreaterThan(5);
  });
});
