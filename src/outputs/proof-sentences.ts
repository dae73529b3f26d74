import type { ProofSummary } from '../burn/proof.ts';
import type { Certainty } from '../piece/schema.ts';
import { inLikelyCases, likelyWords } from '../studies/diagnose/finding.ts';
import type { Band, HowSure } from '../studies/sure/how-sure.ts';

const oddsSentence = ({ accepted, clears }: Pick<HowSure, 'accepted' | 'clears'>): string =>
  `${clears === null ? 'Nothing scorches' : 'The light areas clear and nothing scorches'} ${inLikelyCases(accepted)}.`;

/** What a proof says, a sentence each, with how far the truth may lie from it where that was tried. */
export function proofSentences(
  summary: ProofSummary,
  bands: Omit<HowSure, 'map'> | null,
  source: Certainty['source'],
): string[] {
  const percent = (value: number) => `${(100 * value).toFixed(1)} %`;
  // The middle of all cases is likelier than what one film shows.
  const likely = (shown: number, band: Band | null | undefined, text: (value: number) => string) => {
    if (!band) return text(shown);
    const words = likelyWords(text(band.low), text(band.high));
    return words ? `${text(band.middle)} (${words})` : text(band.middle);
  };
  const { unclearedShare, meanResidueUm, scorchedShare, lightShare } = summary;
  const light = [
    `${likely(unclearedShare, bands?.uncleared, percent)} of the light areas’ dots will keep dark residue.`,
    `${likely(meanResidueUm, bands?.residueUm, (um) => `${um.toFixed(2)} µm`)} of the top coat are left there on average.`,
  ];
  return [
    ...(bands ? [oddsSentence(bands)] : []),
    ...(lightShare > 0 ? light : ['Nothing in this picture is light enough to be meant to come out clear.']),
    `${likely(scorchedShare, bands?.scorched, percent)} of the picture will be scorched.`,
    ...(source === 'calibrated' ? [] : ['Uncalibrated: typical values; only a burned test card shows more.']),
  ];
}
