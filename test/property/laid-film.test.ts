import { describe, expect, test } from 'vitest';
import { coatRowUm, remainingMarks } from '../../src/physics/film/laid-film.ts';
import { type FanProfile, strokeOverlap } from '../../src/physics/film/spray-fan.ts';
import {
  DEFAULT_APPLICATIONS,
  DEFAULT_SLAB,
  DEFAULT_STACK,
  DEFAULT_TOP_COAT,
  evenCoat,
} from '../../src/piece/defaults.ts';
import type { Application, Coat, Slab } from '../../src/piece/schema.ts';

const slab: Slab = { ...DEFAULT_SLAB, shape: 'rectangle', widthMm: 400, heightMm: 400 };
const FILM = { ...DEFAULT_STACK.film, shown: 'drawn' as const };
/** A coat that is uneven by its strokes only. */
const laid = (application: Application, more: Partial<Coat> = {}): Coat => ({
  ...evenCoat(DEFAULT_TOP_COAT),
  layers: 1,
  ...more,
  application,
});
const sprayed = (more: Partial<Extract<Application, { kind: 'sprayed' }>> = {}) =>
  ({ ...DEFAULT_APPLICATIONS.sprayed, wobbleMm: 0, speedVariation: 0, ...more }) as const;

/** Thickness over its mean on a grid over the slab's middle. */
function map(
  coat: Coat,
  { cells = 120, pitchMm = 1, originX = -60, originY = -60, seed = 1, on = slab } = {},
): Float32Array {
  const all = new Float32Array(cells * cells);
  for (let y = 0; y < cells; y++) {
    const place = { originXMm: originX, yMm: originY + (y + 0.5) * pitchMm, pitchMm };
    coatRowUm(coat, 0, { ...FILM, seed }, on, place, all.subarray(y * cells, (y + 1) * cells));
  }
  return all.map((um) => um / coat.dryThicknessUm);
}
const meanOf = (values: Float32Array): number => values.reduce((sum, value) => sum + value, 0) / values.length;
const spreadOf = (values: Float32Array): number => {
  const mean = meanOf(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length) / mean;
};

describe('a sprayed coat', () => {
  test.each([
    ['triangular', 0.5],
    ['parabolic', 0.5],
    ['parabolic', 0.3],
    ['gaussian', 0.5],
    ['elliptic', 0.5],
  ] as const)('of a steady hand varies as endless strokes of a %s fan at %f do', (fan: FanProfile, overlap) => {
    // 60 mm fan: whole periods fit into 120 mm at 0.5; at 0.3 the rest is small beside the tolerance. Places are worked out 2 mm
    // apart and interpolated, which rounds corners of the profile by less than a hundredth.
    const values = map(laid(sprayed({ fan, overlap, fanWidthMm: 60 })), { originY: -63, cells: 126, pitchMm: 1 });
    expect(spreadOf(values)).toBeCloseTo(strokeOverlap(fan, overlap).spread, 2);
    expect(Math.abs(meanOf(values) - 1)).toBeLessThan(0.02);
  });

  test('keeps its mean under wobble and unsteady speed, and grows more uneven with both', () => {
    const steady = map(laid(sprayed()));
    const shaky = map(laid(sprayed({ wobbleMm: 5, speedVariation: 0.1 })));
    expect(spreadOf(steady)).toBeLessThan(0.02);
    expect(spreadOf(shaky)).toBeGreaterThan(0.05);
    expect(Math.abs(meanOf(shaky) - 1)).toBeLessThan(0.1);
    // More layers even out.
    expect(spreadOf(map(laid(sprayed({ wobbleMm: 5, speedVariation: 0.1 }), { layers: 6 })))).toBeLessThan(
      spreadOf(shaky),
    );
  });

  test('bands run along the stroke’s heading', () => {
    const across = (values: Float32Array, cells: number) => {
      let alongX = 0;
      let alongY = 0;
      for (let y = 0; y + 1 < cells; y++) {
        for (let x = 0; x + 1 < cells; x++) {
          alongX += Math.abs(values[y * cells + x + 1] - values[y * cells + x]);
          alongY += Math.abs(values[(y + 1) * cells + x] - values[y * cells + x]);
        }
      }
      return alongY / (alongX + 1e-12);
    };
    const banded = { fan: 'parabolic', overlap: 0.5 } as const;
    expect(across(map(laid(sprayed(banded))), 120)).toBeGreaterThan(100);
    expect(across(map(laid(sprayed({ ...banded, headingRad: Math.PI / 2 }))), 120)).toBeLessThan(0.01);
  });

  test('a trigger worked over the edge leaves a thick rim and the same middle', () => {
    const small: Slab = { ...slab, widthMm: 120, heightMm: 120 };
    const beside = map(laid(sprayed()), { on: small });
    const over = map(laid(sprayed({ ends: 'inside' })), { on: small });
    expect(over[60 * 120] / beside[60 * 120]).toBeGreaterThan(1.25);
    expect(over[60 * 120 + 60] / beside[60 * 120 + 60]).toBeLessThan(1.01);
  });
});

describe('the film belongs to the place', () => {
  const shaky = laid(sprayed({ wobbleMm: 4, speedVariation: 0.1, headingRad: 0.4 }), { slowVariation: 0.05 });
  test.each([
    ['sprayed', shaky],
    ['brushed', laid(DEFAULT_APPLICATIONS.brushed)],
    ['poured', laid(DEFAULT_APPLICATIONS.poured)],
  ] as const)('%s: the same from another corner', (_, coat) => {
    const whole = map(coat, { cells: 60, pitchMm: 0.5, originX: 10, originY: -20 });
    const part = map(coat, { cells: 20, pitchMm: 0.5, originX: 20, originY: -10 });
    for (let y = 0; y < 20; y++) {
      for (let x = 0; x < 20; x++) expect(part[y * 20 + x]).toBeCloseTo(whole[(y + 20) * 60 + x + 20], 3);
    }
  });

  test('another seed is another film, another coat too', () => {
    const one = map(shaky, { seed: 1 });
    expect(map(shaky, { seed: 1 })).toEqual(one);
    expect(map(shaky, { seed: 2 })).not.toEqual(one);
    const row = (index: number) =>
      coatRowUm(shaky, index, FILM, slab, { originXMm: 0, yMm: 3, pitchMm: 1 }, new Float32Array(50));
    expect(row(1)).not.toEqual(row(0));
  });
});

describe('a brushed coat', () => {
  const brush = DEFAULT_APPLICATIONS.brushed;
  const spread = (more: Partial<typeof brush>, coat: Partial<Coat> = {}) =>
    spreadOf(map(laid({ ...brush, ...more }, coat), { pitchMm: 0.2 }));

  test('marks level more in thin paint, in thicker films, and when they lie closer', () => {
    const asIs = spread({ openTimeS: 0 });
    expect(asIs).toBeGreaterThan(0.15);
    expect(spread({ openTimeS: 30, viscosityPaS: 0.5, markSpacingMm: 1 }, { dryThicknessUm: 40 })).toBeLessThan(
      0.5 * asIs,
    );
    const wet = (um: number, spacing: number, viscosity: number) =>
      remainingMarks(laid({ ...brush, markSpacingMm: spacing, viscosityPaS: viscosity }), um);
    expect(wet(60, 1.5, 5)).toBeLessThan(wet(30, 1.5, 5));
    expect(wet(60, 1, 5)).toBeLessThan(wet(60, 2, 5));
    expect(wet(60, 1.5, 1)).toBeLessThan(wet(60, 1.5, 20));
  });

  test('never goes below nothing', () => {
    const values = map(laid({ ...brush, markShare: 1, openTimeS: 0 }), { pitchMm: 0.2 });
    expect(Math.min(...values)).toBeGreaterThanOrEqual(0);
  });
});

test('a poured coat is even but for its rim', () => {
  const oval: Slab = { ...DEFAULT_SLAB, shape: 'oval', widthMm: 120, heightMm: 120 };
  const values = map(laid(DEFAULT_APPLICATIONS.poured), { on: oval });
  expect(values[60 * 120 + 60]).toBeCloseTo(1, 3);
  // Half a millimetre in from the rim of the circle.
  expect(values[60 * 120]).toBeCloseTo(1 + 0.4 * Math.exp(-0.5 / 6), 2);
});
