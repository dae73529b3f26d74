import type { ProofRecord } from './stores/proof-store.ts';

/** The numbers of a proof as they are told everywhere: the middle of all likely cases, or, until that is known, what the film shown gives. */
export function likelyNumbers({ result, sure }: Pick<ProofRecord, 'result' | 'sure'>) {
  if (!result) return null;
  const { summary } = result;
  return {
    unclearedShare: sure?.uncleared?.middle ?? summary.unclearedShare,
    scorchedShare: sure?.scorched.middle ?? summary.scorchedShare,
    residueUm: sure?.residueUm?.middle ?? summary.meanResidueUm,
  };
}
