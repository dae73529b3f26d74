import { CLEARED_SHARE, SCORCHED_SHARE } from '../../core/quality/clearing.ts';
import type { Certainty } from '../../core/piece/schema.ts';
import { type Band, type HowSure } from '../../sim/how-sure.ts';
import { percent } from '../words.ts';

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
  const of100 = (share: number) => `${Math.round(100 * share)} of 100`;
  return (
    <div className="sure">
      <p>
        How sure?{' '}
        {sure.clears !== null && (
          <>
            The light areas clear in <strong>{of100(sure.clears)}</strong> cases;{' '}
          </>
        )}
        the undercoat stays unscorched in <strong>{of100(sure.staysUnscorched)}</strong>.
      </p>
      <p className="small-print">
        {sourceSentence(source)} {sure.draws} paints and beams like these were tried; only a burned test card tells
        more. Cleared means less than {percent(CLEARED_SHARE)} uncleared, unscorched less than {percent(SCORCHED_SHARE)}{' '}
        of the picture.
      </p>
    </div>
  );
}
