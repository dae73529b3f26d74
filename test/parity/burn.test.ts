import { describe, expect, test } from 'vitest';
import { burnOnProcessor } from '../../src/burn/kernel/processor.ts';
import { burnByReference } from '../helpers/reference-burn.ts';
import { BURN_CASES } from './cases.ts';

/**
 * The same formula in the loop that burns: proves indexing, edges and what is worked out once for many places, not physics. What a graphics
 * card makes of whole jobs is in `test/browser/card.test.ts`.
 */
describe('the processor’s loop', () => {
  test.each(BURN_CASES)('$name, to the last bit', ({ input }) => {
    const expected = burnByReference(input);
    const actual = burnOnProcessor(input);
    expect(actual.depthUm).toEqual(expected.depthUm);
    expect(actual.excess).toEqual(expected.excess);
  });
});

describe('the cases', () => {
  test('reach every layer, and both sides of every threshold', () => {
    let untouched = 0;
    let bitten = 0;
    let opened = 0;
    let wood = 0;
    let shoneThrough = 0;
    for (const { input } of BURN_CASES) {
      const { depthUm, excess } = burnByReference(input);
      for (let i = 0; i < depthUm.length; i++) {
        const x = Math.floor((i % input.width) / input.subX);
        const y = Math.floor(Math.floor(i / input.width) / input.subY);
        const coat = (k: number) => input.thicknessUm.data[(k * input.thicknessRows + y) * input.thicknessUm.width + x];
        const all = Array.from({ length: input.coats }, (_, k) => coat(k)).reduce((a, b) => a + b, 0);
        if (depthUm[i] === input.depthUm[i]) untouched++;
        else if (input.coats > 0 && depthUm[i] < coat(0)) bitten++;
        if (input.coats > 1 && depthUm[i] > coat(0) && depthUm[i] < all) opened++;
        if (depthUm[i] > all + 1) wood++;
        if (input.coats > 0 && depthUm[i] < coat(0) && excess[i] > input.excess[i]) shoneThrough++;
      }
    }
    for (const count of [untouched, bitten, opened, wood, shoneThrough]) expect(count).toBeGreaterThan(20);
  });

  test('the names are all different', () => {
    expect(new Set(BURN_CASES.map(({ name }) => name)).size).toBe(BURN_CASES.length);
  });
});
