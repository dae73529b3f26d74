import type { Certainty } from '../../../piece/schema.ts';
import { ODDS_COUNT } from '../../../studies/diagnose/verdict.ts';
import { inLikelyCases } from '../../../studies/diagnose/words.ts';
import type { Band, HowSure } from '../../../studies/sure/how-sure.ts';

/** Where the numbers come from, in one sentence. */
export const sourceSentence = (source: Certainty['source']): string =>
  source === 'calibrated'
    ? 'Calibrated on a burned card; what is left of the spread is in the bands.'
    : 'Uncalibrated: thresholds and films are typical values, and yours may differ.';

/** The band of a number beside it. */
export function BandOf({ band, text }: { band: Band | null | undefined; text: (value: number) => string }) {
  if (!band) return null;
  return (
    <span className="band">
      {' '}
      (8 in 10: {text(band.low)} to {text(band.high)})
    </span>
  );
}

/** How sure the proof is, in words. */
export function SureLines({ sure, source }: { sure: HowSure | null; source: Certainty['source'] }) {
  if (!sure) return <p className="small-print">{sourceSentence(source)} Trying what they may be…</p>;
  return (
    <div className="sure">
      <p>
        How sure?{' '}
        {sure.clears !== null && (
          <>
            The light areas clear <strong>{inLikelyCases(sure.clears)}</strong>;{' '}
          </>
        )}
        the undercoat stays unscorched <strong>{inLikelyCases(sure.staysUnscorched)}</strong>.
      </p>
      <p className="small-print">
        {sourceSentence(source)} {sure.draws} paints, films and beams like these were tried; numbers above are the
        middle ones. {ODDS_COUNT}
      </p>
    </div>
  );
}
