import type { Answerer } from './answer.ts';
import { proofs } from './desk.ts';
import { readProbe } from './proof-keeper.ts';

export const answerProbe: Answerer<'probe'> = ({ id, xMm, yMm }) => {
  const proof = proofs.get(id);
  return { gets: proof ? readProbe(proof, xMm, yMm) : null };
};
