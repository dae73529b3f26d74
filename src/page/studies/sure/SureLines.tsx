import type { Certainty } from '../../../piece/schema.ts';
import { inLikelyCases, likelyWords, ODDS_COUNT, of100 } from '../../../studies/diagnose/finding.ts';
import type { Band, HowSure } from '../../../studies/sure/how-sure.ts';
import { Field } from '../../fields/Field.tsx';
import { usePieceStore } from '../../store/piece-store.ts';

/** Where the numbers come from, in one sentence. */
const sourceSentence = (source: Certainty['source']): string =>
  source === 'calibrated'
    ? 'Calibrated on a burned card; what is left of the spread is in the bands.'
    : 'Uncalibrated: thresholds and films are typical values, and yours may differ.';

/** The band of a number beside it. */
export function BandOf({ band, text }: { band: Band | null | undefined; text: (value: number) => string }) {
  if (!band) return null;
  const words = likelyWords(text(band.low), text(band.high));
  return words && <span className="band"> ({words})</span>;
}

/** How sure the proof is, in words. */
export function SureLines({ sure, source }: { sure: HowSure | null; source: Certainty['source'] }) {
  if (!sure) return <p className="small-print">{sourceSentence(source)} Trying other likely paints and beams…</p>;
  return (
    <div className="sure">
      <p>
        How sure? It comes out <strong>{inLikelyCases(sure.accepted)}</strong>
        {sure.clears !== null && `: the light areas clear in ${of100(sure.clears)}`}
        {sure.clears === null ? ': ' : ', '}the undercoat stays unscorched in {of100(sure.staysUnscorched)}.
      </p>
      <p className="small-print">
        {sourceSentence(source)} {sure.draws} paints, films and beams like these were tried; numbers above are the
        middle ones. {ODDS_COUNT}
      </p>
    </div>
  );
}

/** How far the truth may lie from the numbers. */
export function SpreadControls() {
  const source = usePieceStore((state) => state.piece.certainty.source);
  return (
    <>
      <p className="plain">
        {source === 'calibrated'
          ? 'Calibrated on a burned card: the spreads are what the card left open.'
          : 'An uncalibrated preset: the spreads are estimates for paints and machines of this kind.'}{' '}
        In two of three cases the truth lies no further off than this; wider spreads make wider bands.
      </p>
      <Field of="certainty.threshold" hint="Decide at which power the coats begin to come off." />
      <Field of="certainty.specificEnergy" hint="Decide how deep a burn goes once it has begun." />
      <Field of="certainty.thickness" hint="Of the mean; thicker than thought stays dark." />
      <Field of="certainty.power" hint="Of what the source gives; lenses get dirty and diodes age." />
    </>
  );
}
