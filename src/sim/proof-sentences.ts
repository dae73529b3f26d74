import type { Certainty } from '../core/piece/schema.ts';
import type { Band, HowSure } from './how-sure.ts';
import type { ProofSummary } from './statistics.ts';

/** What a proof says, a sentence each, with how far the truth may lie from it where that was tried. */
export function proofSentences(
  summary: ProofSummary,
  bands: Pick<HowSure, 'uncleared' | 'residueUm' | 'scorched'> | null,
  source: Certainty['source'],
): string[] {
  const percent = (value: number) => `${(100 * value).toFixed(1)} %`;
  const inBand = (band: Band | null | undefined, text: (value: number) => string) =>
    band ? ` (8 in 10: ${text(band.low)} to ${text(band.high)})` : '';
  return [
    `${percent(summary.unclearedShare)} of the light areas will keep dark residue${inBand(bands?.uncleared, percent)}.`,
    `${summary.meanResidueUm.toFixed(2)} µm of the top coat are left there on average${inBand(bands?.residueUm, (um) => um.toFixed(2))}.`,
    `${percent(summary.scorchedShare)} of the picture will be scorched${inBand(bands?.scorched, percent)}.`,
    ...(source === 'calibrated' ? [] : ['Uncalibrated: typical values; only a burned test card tells more.']),
  ];
}
