import { describe, expect, test } from 'vitest';
import { createProcessorBackend } from '../../src/burn/kernel/processor.ts';
import { createReferenceBackend } from '../../src/burn/kernel/reference.ts';
import { BURN_CASES } from './cases.ts';

/**
 * The same formula in the loop that burns: proves indexing, edges and what is worked out once for many places, not physics. What a graphics
 * card makes of whole jobs is in `test/browser/card.test.ts`.
 */
describe('the processor’s loop', () => {
  const backend = createProcessorBackend();
  const reference = createReferenceBackend();
  test.each(BURN_CASES)('$name, to the last bit', async ({ input }) => {
    const expected = await reference.burnPass(input);
    const actual = await backend.burnPass(input);
    expect(actual.depthUm).toEqual(expected.depthUm);
    expect(actual.excess).toEqual(expected.excess);
  });
});

describe('the cases', () => {
  test('reach every layer, and both sides of every threshold', async () => {
    const backend = createReferenceBackend();
    let untouched = 0;
    let bitten = 0;
    let opened = 0;
    let wood = 0;
    let shoneThrough = 0;
    for (const { input } of BURN_CASES) {
      const { depthUm, excess } = await backend.burnPass(input);
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
