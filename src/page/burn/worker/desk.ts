import { lazily } from '../../../base/lazily.ts';
import { createCoarsePipeline } from '../../../burn/coarse.ts';
import { createGpuJsBackend } from '../../../burn/kernel/gpu-js.ts';
import { createLastingRunner } from '../../../burn/lasting-runner.ts';
import type { Photo } from '../../../burn/prepare.ts';
import { createProofPipeline } from '../../../burn/proof.ts';
import { createInlineRunner } from '../../../burn/runner.ts';
import { chooseRunner } from './choose-runner.ts';
import type { KeptProof } from './proof-keeper.ts';

/** What the proof worker and its answers share. */

/** Photographs by key, and what is kept of proofs by id. */
export const photos = new Map<string, Promise<Photo>>();
export const proofs = new Map<string, KeptProof>();

/** Short strips, so that a stale proof lets go of the processor soon. */
export const pipeline = createProofPipeline({ stripRows: 16 });
export const coarsePipeline = createCoarsePipeline();

/** For small burns, in this worker itself. */
export const quickRunner = lazily(() => createGpuJsBackend('cpu', 'coarse proof').then(createInlineRunner));

/** For proofs and crops of them: all that the machine has. Several may burn at once. */
export const fullRunner = lazily(() => createLastingRunner(chooseRunner));

/** @throws Error if the photograph is not open. */
export async function photoOf(key: string): Promise<Photo> {
  const photo = await photos.get(key);
  if (!photo) throw new Error('the photograph is not open any more; open it again');
  return photo;
}

/** @throws Error if nothing is kept of the proof. */
export function proofOf(id: string): KeptProof {
  const proof = proofs.get(id);
  if (!proof) throw new Error('this proof is not kept any more; compute it once more');
  return proof;
}

/** Lets messages come in, and says whether to go on. */
export const goingOn = (shouldStop: () => boolean) => async (): Promise<boolean> => {
  await pause(0);
  return !shouldStop();
};

export const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));
