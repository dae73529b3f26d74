import { describe, expect, it } from 'vitest';
import { alphaOfGloss60, fresnel, gloss60OfAlpha } from '../../src/physics/material/coat-optics.ts';
import { balanceLight } from '../../src/render/slab/materials.ts';

describe('gloss to roughness', () => {
  it('reflects 4 % at normal incidence for index 1.5', () => {
    expect(fresnel(1, 1.5)).toBeCloseTo(0.04, 6);
  });

  // Fresnel equations for black glass of index 1.567 at 60°: the reference of ISO 2813, 0.1001 in common handbooks (from memory).
  it('gives the reference glass of a gloss meter about 10 % at 60°', () => {
    expect(fresnel(0.5, 1.567)).toBeCloseTo(0.1001, 3);
  });

  it('falls with roughness', () => {
    const glosses = [0.02, 0.05, 0.1, 0.2, 0.4, 0.8].map(gloss60OfAlpha);
    for (let i = 1; i < glosses.length; i++) expect(glosses[i]).toBeLessThan(glosses[i - 1]);
  });

  it('is undone by its inverse', () => {
    for (const gloss of [3, 8, 25, 50]) expect(gloss60OfAlpha(alphaOfGloss60(gloss))).toBeCloseTo(gloss, 1);
  });

  it('keeps odd readings in range', () => {
    expect(alphaOfGloss60(0)).toBe(1);
    expect(alphaOfGloss60(-3)).toBe(1);
    expect(alphaOfGloss60(Number.NaN)).toBe(1);
    expect(alphaOfGloss60(500)).toBe(0.02);
  });
});

describe('the balance of lamp and room', () => {
  const DEG = Math.PI / 180;

  it('leaves the lamp out in even light', () => {
    expect(balanceLight({ azimuthRad: 1, elevationRad: 1 }, 'dome')).toEqual({ dome: [1, 1, 1], lamp: [0, 0, 0] });
  });

  it('does not clip a flat white at any elevation, and is neutral at 45°', () => {
    for (let elevation = 5; elevation <= 85; elevation += 5) {
      const { dome, lamp } = balanceLight({ azimuthRad: 0, elevationRad: elevation * DEG }, 'lamp');
      const sine = Math.sin(elevation * DEG);
      const entering = 1 - (1 - sine) ** 5;
      const white = dome.map((d, c) => d + lamp[c] * sine * entering);
      for (const value of white) expect(value).toBeGreaterThan(0.5);
      for (const value of white) expect(value).toBeLessThan(1.02);
      if (elevation === 45) for (const value of white) expect(value).toBeCloseTo(white[1], 2);
    }
  });
});
