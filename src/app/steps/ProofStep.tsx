import { Switch } from 'react-aria-components';
import { CLEARED_RESIDUE_UM } from '../../core/quality/clearing.ts';
import { CLEARED_SHARE, type ClearingOdds } from '../../sim/clearing-odds.ts';
import { PairSwitch } from '../controls/PairSwitch.tsx';
import { ResidueHistogram } from '../controls/ResidueHistogram.tsx';
import { ValueControl } from '../controls/ValueControl.tsx';
import { useShown } from '../stores/proof-store.ts';
import { setSession, useSessionStore } from '../stores/session-store.ts';
import { duration, percent } from '../words.ts';

export function ProofStep() {
  const { left: record } = useShown();
  const session = useSessionStore();
  const result = record?.result ?? null;
  return (
    <>
      {result ? (
        <div className="findings">
          <p>
            <strong>{percent(result.summary.unclearedShare)}</strong> of the light areas will keep dark residue (more
            than {CLEARED_RESIDUE_UM} µm of the top coat).
          </p>
          <p>
            <strong>{percent(result.summary.scorchedShare)}</strong> of the picture will be scorched or burned through.
          </p>
          <p>
            Residue in the light areas: <strong>{result.summary.meanResidueUm.toFixed(2)} µm</strong> on average.
            Deepest place: <strong>{result.summary.maxDepthUm.toFixed(0)} µm</strong>.
          </p>
          <p>
            {result.summary.rows.toLocaleString()} rows, <strong>{duration(result.summary.burnTimeS)}</strong>.
          </p>
        </div>
      ) : (
        <p className="plain">{record?.status === 'failed' ? record.fault : 'The proof is being computed.'}</p>
      )}
      {result && <SureLine odds={record?.odds ?? null} lit={result.summary.lightShare > 0} />}
      {result && result.summary.lightShare > 0 && <ResidueHistogram counts={result.summary.residueHistogram} />}
      <div className="switches">
        <Switch isSelected={session.uncleared} onChange={(uncleared) => setSession({ uncleared })} className="switch">
          <span className="switch-mark" aria-hidden="true" />
          Mark uncleared places
          <i className="swatch swatch-uncleared" aria-hidden="true" />
        </Switch>
        <Switch isSelected={session.scorched} onChange={(scorched) => setSession({ scorched })} className="switch">
          <span className="switch-mark" aria-hidden="true" />
          Mark scorched places
          <i className="swatch swatch-scorched" aria-hidden="true" />
        </Switch>
      </div>
      <ValueControl
        label="Relief"
        hint="1 is true to scale; more makes the steps of the coats easier to see."
        unit="×"
        value={session.reliefExaggeration}
        onChange={(reliefExaggeration) => setSession({ reliefExaggeration })}
        low={0}
        high={40}
        sliderHigh={20}
        step={0.5}
        digits={1}
      />
      <PairSwitch
        label="Sheen"
        value={session.sheen}
        options={[
          { id: 'satin', label: 'As painted' },
          { id: 'matte', label: 'Matte' },
        ]}
        onChange={(sheen) => setSession({ sheen })}
        hint="How the coats answer the lamp."
      />
      {result && <p className="small-print">Computed by {result.backend}.</p>}
    </>
  );
}

/** How sure the proof is, in words. */
function SureLine({ odds, lit }: { odds: ClearingOdds | null; lit: boolean }) {
  const why = 'Uncalibrated: the coats’ thresholds are typical values, and yours may differ.';
  if (!lit) return <p className="small-print">{why} Only a burned test card tells.</p>;
  if (!odds) return <p className="small-print">{why} Trying what they may be…</p>;
  return (
    <div className="sure">
      <p>
        How sure? In 8 of 10 cases between <strong>{percent(odds.low)}</strong> and{' '}
        <strong>{percent(odds.high)}</strong> of the light areas stay uncleared; they clear in{' '}
        <strong>{Math.round(100 * odds.clears)} of 100</strong>.
      </p>
      <p className="small-print">
        {why} {odds.draws} paints and beams like these were tried; only a burned test card tells more. Cleared means
        less than {percent(CLEARED_SHARE)} uncleared.
      </p>
    </div>
  );
}
