import { Switch } from 'react-aria-components';
import { type ProofRecord, useProofStore, useShown } from '../burn/proof-store.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { More } from '../fields/More.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ResidueHistogram } from '../fields/ResidueHistogram.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { setSession, useSessionStore } from '../store/session-store.ts';
import { CalibrateButton } from './calibrate/CalibrateButton.tsx';
import { ChooseSection } from './choose/ChooseSection.tsx';
import { Findings } from './diagnose/Findings.tsx';
import { ProofFigures } from './diagnose/ProofFigures.tsx';
import { QualityFigures } from './diagnose/QualityFigures.tsx';
import { ToneChart } from './diagnose/ToneChart.tsx';
import { RescueSection } from './rescue/RescueSection.tsx';
import { SpreadControls } from './sure/SpreadControls.tsx';
import { SureLines } from './sure/SureLines.tsx';
import { TestStripSection } from './test-strip/TestStripSection.tsx';

const SHOWS = [
  { id: 'proof', label: 'The proof', note: 'How it will look.' },
  {
    id: 'uncleared',
    label: 'How likely it stays uncleared',
    note: 'The darker the blue, the likelier dark residue stays there.',
  },
  { id: 'scorched', label: 'How likely it scorches', note: 'The redder, the likelier the undercoat scorches there.' },
] as const;

function stateWords({ status, fault }: ProofRecord): string {
  switch (status) {
    case 'failed':
      return fault ?? 'The proof could not be computed.';
    case 'stopped':
      return 'The proof was stopped. “Compute” on the strip of proofs goes on.';
    case 'waiting':
      return 'This proof is not computed yet: pick it on the strip.';
    default:
      return 'The proof is being computed.';
  }
}

export function ProofStep() {
  const { left: record } = useShown();
  const current = useProofStore((state) => state.current?.id === record?.id);
  const session = useSessionStore();
  const result = record?.result ?? null;
  const sure = record?.sure ?? null;
  return (
    <>
      {result && record ? (
        <Findings record={record} current={current} />
      ) : (
        <p className="plain">{record ? stateWords(record) : 'The proof is being computed.'}</p>
      )}
      {result && record && <ProofFigures record={record} />}
      {result && record && <SureLines sure={sure} source={record.piece.certainty.source} />}
      <More label="Find settings">
        <ChooseSection />
      </More>
      <More label="Test strip" note="bands on scrap before the slab">
        <TestStripSection />
      </More>
      <More label="Rescue" note="it came out too dark">
        <RescueSection />
      </More>
      {record?.diagnosis && (
        <More label="Tones and evenness">
          <ToneChart chart={record.diagnosis.chart} />
          <QualityFigures metrics={record.diagnosis.metrics} />
        </More>
      )}
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
      <ChoiceControl
        label="Shown on the slab"
        value={session.shows}
        choices={SHOWS}
        onChange={(shows) => setSession({ shows })}
      />
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
      <CalibrateButton />
      <More label="How sure the numbers are">
        <SpreadControls />
      </More>
      {result && <p className="small-print">Computed by {result.backend}.</p>}
    </>
  );
}
