import { describe, expect, test } from 'vitest';
import { degToRad } from '../../src/base/units.ts';
import { headingFrom, newCheck, newKnot, shownHeading } from '../../src/page/physics/SlabStep.tsx';
import { crackRow } from '../../src/physics/material/laid-stack.ts';
import { DEFAULT_SLAB } from '../../src/piece/defaults.ts';
import { checkSchema, knotSchema, type Slab } from '../../src/piece/schema.ts';

const fill = (slab: Slab): Slab => {
  let grown = slab;
  for (let i = 0; i < 12; i++) {
    grown = { ...grown, knots: [...grown.knots, newKnot(grown)], checks: [...grown.checks, newCheck(grown)] };
  }
  return grown;
};

describe('what is added to a slab', () => {
  test('a first knot lies left of the middle, 24 mm and filled', () => {
    const knot = newKnot(DEFAULT_SLAB);
    expect(knot).toMatchObject({ diameterMm: 24, filled: true });
    expect(knot.xMm).toBeLessThan(-24);
  });

  test('twelve of each lie apart, all on the slab', () => {
    const { knots, checks } = fill(DEFAULT_SLAB);
    for (const list of [knots, checks]) {
      const places = new Set(list.map(({ xMm, yMm }) => `${xMm} ${yMm}`));
      expect(places.size).toBe(12);
      for (const { xMm, yMm } of list) expect(Math.hypot(xMm / 150, yMm / 120)).toBeLessThan(0.9);
    }
  });

  test.each([
    ['smallest', { widthMm: 5, heightMm: 5 }],
    ['largest', { widthMm: 3000, heightMm: 3000 }],
    ['a plank', { cut: 'plank' as const }],
    ['pith far off', { pithXMm: 3000, pithYMm: 2999 }],
  ])('%s: what is added is within the schema', (_, part) => {
    const { knots, checks } = fill({ ...DEFAULT_SLAB, ...part });
    for (const knot of knots) expect(knotSchema.safeParse(knot).success).toBe(true);
    for (const check of checks) expect(checkSchema.safeParse(check).success).toBe(true);
  });

  test('a check of a slice points at the pith, that of a plank along the grain', () => {
    const { xMm, yMm, headingRad } = newCheck({ ...DEFAULT_SLAB, pithXMm: -40, pithYMm: 70 });
    const off = (xMm + 40) * Math.sin(headingRad) - (yMm - 70) * Math.cos(headingRad);
    expect(off).toBeCloseTo(0, 6);
    expect(newCheck({ ...DEFAULT_SLAB, cut: 'plank' }).headingRad).toBe(0);
  });
});

describe('heading of a crack on screen', () => {
  test('turns counter-clockwise: at 45° the crack is higher up on its right', () => {
    const check = { ...newCheck(DEFAULT_SLAB), xMm: 0, yMm: 0, lengthMm: 40, widthMm: 4, headingRad: headingFrom(45) };
    const crack = crackRow(check, 0);
    const middleOf = (yMm: number) => {
      const depth = new Float32Array(400);
      crack(-20, yMm, 0.1, depth);
      const total = depth.reduce((sum, value) => sum + value, 0);
      return depth.reduce((sum, value, i) => sum + value * (-20 + (i + 0.5) * 0.1), 0) / total;
    };
    expect(middleOf(-8)).toBeGreaterThan(5);
    expect(middleOf(8)).toBeLessThan(-5);
  });

  test('comes back as it was set', () => {
    for (let deg = 0; deg < 180; deg++) expect(shownHeading(headingFrom(deg))).toBe(deg);
    expect(shownHeading(degToRad(210))).toBe(150);
  });
});
