import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { BurnBackend } from '../../src/burn/kernel/contract.ts';
import { createGpuJsBackend } from '../../src/burn/kernel/gpu-js.ts';
import { createReferenceBackend } from '../../src/burn/kernel/reference.ts';
import { BURN_CASES } from './cases.ts';

/**
 * The same formula on another backend: proves indexing, edges, precision and read-back, not physics. In a page it is compared with the same
 * cases in `test/browser/parity.test.ts`, and what a graphics card makes of whole jobs in `test/browser/card.test.ts`.
 *
 * Tolerance: single precision has a relative step of 6e-8. A depth is a dose of a few J/mm² over a specific energy of a few J/mm³,
 * times 1000: some ten roundings of it make 1e-5 of the depth, and 1e-3 µm at the shallow end.
 */
const RELATIVE = 1e-5;
const ABSOLUTE = { depthUm: 1e-3, excess: 1e-5 };

describe('gpu.js on the processor', () => {
  let backend: BurnBackend;
  const reference = createReferenceBackend();
  beforeAll(async () => {
    backend = await createGpuJsBackend('test');
  });
  afterAll(() => backend.dispose());

  test('is what it says', async () => {
    expect(backend.name).toBe('cpu');
    expect(backend.reason).toBe('test');
    // burnPass throws if the library ran another mode than the one named; ask the library itself as well.
    const library = await import('gpu.js');
    const gpu = new library.GPU({ mode: 'cpu' });
    const kernel = gpu.createKernel(function (this: { thread: { x: number } }) {
      return this.thread.x;
    });
    kernel.setOutput([3]);
    expect(Array.from(kernel() as Float32Array)).toEqual([0, 1, 2]);
    expect((kernel as unknown as { kernel: { constructor: { mode: string } } }).kernel.constructor.mode).toBe('cpu');
    gpu.destroy();
  });

  test.each(BURN_CASES)('$name', async ({ input }) => {
    const expected = await reference.burnPass(input);
    const actual = await backend.burnPass(input);
    for (const key of ['depthUm', 'excess'] as const) {
      expect(actual[key]).toHaveLength(input.width * input.height);
      let worst = 0;
      expected[key].forEach((value, i) => {
        const allowed = ABSOLUTE[key] + RELATIVE * Math.abs(value);
        worst = Math.max(worst, Math.abs(actual[key][i] - value) / allowed);
        if (!Number.isFinite(actual[key][i])) worst = Number.POSITIVE_INFINITY;
      });
      expect(worst).toBeLessThan(1);
    }
  });

  test('several sizes in turn do not mix up', async () => {
    const [first, second] = [BURN_CASES[0].input, BURN_CASES[1].input];
    const before = await backend.burnPass(first);
    await backend.burnPass(second);
    const after = await backend.burnPass(first);
    expect(after.depthUm).toEqual(before.depthUm);
    expect(after.excess).toEqual(before.excess);
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
