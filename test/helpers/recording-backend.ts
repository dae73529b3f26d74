import type { BurnBackend, BurnPassInput, BurnPassOutput } from '../../src/burn/kernel/contract.ts';
import { createReferenceBackend } from '../../src/burn/kernel/reference.ts';

export interface RecordingBackend extends BurnBackend {
  readonly calls: { readonly input: BurnPassInput; readonly output: BurnPassOutput }[];
}

/** The reference backend, keeping what it was given and what it answered: the fine cells, which a proof averages. */
export function createRecordingBackend(): RecordingBackend {
  const backend = createReferenceBackend();
  const calls: RecordingBackend['calls'] = [];
  return {
    ...backend,
    calls,
    async burnPass(input) {
      const output = await backend.burnPass(input);
      calls.push({ input, output });
      return output;
    },
  };
}
