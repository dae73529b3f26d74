import type { ProofRecord } from './stores/proof-store.ts';

/** The numbers of a proof as they are told everywhere: the middle of all likely cases. Null until those are tried, so that no number jumps. */
export function likelyNumbers({ result, sure }: Pick<ProofRecord, 'result' | 'sure'>) {
  if (!result || !sure) return null;
  const { summary } = result;
  return {
    unclearedShare: sure.uncleared?.middle ?? summary.unclearedShare,
    scorchedShare: sure.scorched.middle,
    residueUm: sure.residueUm?.middle ?? summary.meanResidueUm,
  };
}
