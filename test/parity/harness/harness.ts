import { createGpuJsBackend } from '../../../src/burn/kernel/gpu-js.ts';
import { createReferenceBackend } from '../../../src/burn/kernel/reference.ts';
import { BURN_CASES } from '../cases.ts';

/** Largest difference from the reference in one case, µm and J/mm². */
export interface Difference {
  readonly name: string;
  readonly depthUm: number;
  readonly excess: number;
}

declare global {
  interface Window {
    compareBackend: () => Promise<{ ran: string; differences: Difference[] }>;
  }
}

window.compareBackend = async () => {
  const backend = await createGpuJsBackend('parity');
  const reference = createReferenceBackend();
  const differences: Difference[] = [];
  for (const { name, input } of BURN_CASES) {
    const expected = await reference.burnPass(input);
    const actual = await backend.burnPass(input);
    const largest = (key: 'depthUm' | 'excess') =>
      expected[key].reduce((most, value, i) => Math.max(most, Math.abs(value - actual[key][i])), 0);
    differences.push({ name, depthUm: largest('depthUm'), excess: largest('excess') });
  }
  return { ran: backend.name, differences };
};
