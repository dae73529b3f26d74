import type { ProofRecord } from './proof-store.ts';

/**
 * The numbers of a proof as they are told everywhere: the middle of all likely cases. A pin that was made before those were tried has what its
 * film gives; the proof on the table waits for them (`isJudged`), so that no number jumps.
 */
export function likelyNumbers({ result, sure }: Pick<ProofRecord, 'result' | 'sure'>) {
  if (!result) return null;
  const { summary } = result;
  return {
    unclearedShare: sure?.uncleared?.middle ?? summary.unclearedShare,
    scorchedShare: sure?.scorched.middle ?? summary.scorchedShare,
    residueUm: sure?.residueUm?.middle ?? summary.meanResidueUm,
  };
}

/** Whether the proof on the table has its numbers. */
export const isJudged = ({ sure }: Pick<ProofRecord, 'sure'>): boolean => sure !== null;
