import type { BurnPass, BurnPassInput, BurnPassOutput } from '../../src/burn/kernel/contract.ts';
import { burnByReference } from './reference-burn.ts';

/** The reference, keeping what it was given and what it answered: the fine cells, which a proof averages. */
export function recordingBurn(): {
  readonly calls: { readonly input: BurnPassInput; readonly output: BurnPassOutput }[];
  readonly burnPass: BurnPass;
} {
  const calls: { input: BurnPassInput; output: BurnPassOutput }[] = [];
  return {
    calls,
    burnPass(input) {
      const output = burnByReference(input);
      // A swath's exposure lies in memory that the next one uses.
      const { exposure } = input;
      calls.push({ input: { ...input, exposure: { ...exposure, data: exposure.data.slice() } }, output });
      return output;
    },
  };
}
