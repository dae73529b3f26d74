import { type ComponentType, useState } from 'react';
import { Button, Input, Switch, TextField } from 'react-aria-components';
import { useStore } from 'zustand';
import { LIMITS } from '../base/input-error.ts';
import { quantity } from '../base/quantity.ts';
import { CLEARED_RESIDUE_UM } from '../burn/clearing.ts';
import { HISTOGRAM_BIN_UM } from '../burn/swath-task.ts';
import { parseFilmMap, withFilmMap } from '../physics/film/film-map.ts';
import { DEFAULT_TOP_COAT } from '../piece/defaults.ts';
import type { FoundFilm, Piece, Stack } from '../piece/schema.ts';
import { of100 } from '../studies/diagnose/finding.ts';
import { type ProofRecord, percent, powers, useProofStore, useShown } from './burn/proof-store.ts';
import { inBackground } from './faults/lazy-part.tsx';
import { Field } from './fields/Field.tsx';
import { OpenButton } from './fields/OpenButton.tsx';
import { More, Section, StepButtons, StepPages } from './fields/SheetDialog.tsx';
import { SheetGrip } from './fields/SheetGrip.tsx';
import { UncalibratedMark } from './fields/UncalibratedMark.tsx';
import { ChoiceControl, PairSwitch, ValueControl } from './fields/ValueControl.tsx';
import { PictureStep } from './image/PictureStep.tsx';
import { HandOverStep } from './outputs/HandOverStep.tsx';
import { CoatControls } from './physics/CoatControls.tsx';
import { PaintChoice } from './physics/PaintChoice.tsx';
import { PassesStep } from './physics/PassesStep.tsx';
import { SlabStep } from './physics/SlabStep.tsx';
import { OpenPiece } from './piece/OpenPiece.tsx';
import { PiecesButton } from './shop/PiecesButton.tsx';
import { beginBlank } from './store/files.ts';
import { savePieceFile, useKeepingStore } from './store/keeping.ts';
import {
  changeStack,
  redo,
  STEPS,
  type Step,
  setSession,
  undo,
  usePieceStore,
  useSessionStore,
} from './store/piece-store.ts';
import { CalibrateButton } from './studies/calibrate/CalibrateButton.tsx';
import { ChooseSection } from './studies/choose/ChooseSection.tsx';
import { Findings, ProofFigures, QualityFigures, ToneChart } from './studies/diagnose/Findings.tsx';
import { RescueSection } from './studies/rescue/RescueSection.tsx';
import { SpreadControls, SureLines } from './studies/sure/SureLines.tsx';
import { TestStripSection } from './studies/test-strip/TestStripSection.tsx';
import './steps.css';

const SHOWS = [
  { id: 'proof', label: 'The proof', note: 'How it will look.' },
  {
    id: 'uncleared',
    label: 'How likely it is left dark',
    note: 'The darker the blue, the likelier dark residue stays there.',
  },
  { id: 'scorched', label: 'How likely it scorches', note: 'The redder, the likelier the undercoat scorches there.' },
] as const;

function stateWords({ status, fault }: ProofRecord): string {
  switch (status) {
    case 'failed':
      return fault ?? 'The proof could not be computed.';
    case 'stopped':
      return 'The proof was stopped. “Compute” on the bar of proofs goes on.';
    case 'waiting':
      return 'This proof is not computed yet: pick it on the strip.';
    default:
      return 'The proof is being computed.';
  }
}

const RELIEF = quantity(0, 40, { label: 'Relief', unit: '×', step: 0.5, digits: 1, sliderHigh: 20 });

function ProofStep() {
  const { left: record } = useShown();
  const current = useProofStore((state) => state.current?.id === record?.id);
  const uncleared = useSessionStore((state) => state.uncleared);
  const scorched = useSessionStore((state) => state.scorched);
  const shows = useSessionStore((state) => state.shows);
  const reliefExaggeration = useSessionStore((state) => state.reliefExaggeration);
  const sheen = useSessionStore((state) => state.sheen);
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
      <More label="Find settings" name="find-settings">
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
        <Switch isSelected={uncleared} onChange={(uncleared) => setSession({ uncleared })} className="switch">
          <span className="switch-mark" aria-hidden="true" />
          Mark places left dark
          <i className="swatch swatch-uncleared" aria-hidden="true" />
        </Switch>
        <Switch isSelected={scorched} onChange={(scorched) => setSession({ scorched })} className="switch">
          <span className="switch-mark" aria-hidden="true" />
          Mark scorched places
          <i className="swatch swatch-scorched" aria-hidden="true" />
        </Switch>
      </div>
      <ChoiceControl
        label="Shown on the slab"
        value={shows}
        choices={SHOWS}
        onChange={(shows) => setSession({ shows })}
      />
      <ValueControl
        of={RELIEF}
        hint="1 is true to scale; more makes the steps of the coats easier to see."
        value={reliefExaggeration}
        onChange={(reliefExaggeration) => setSession({ reliefExaggeration })}
      />
      <PairSwitch
        label="Sheen"
        value={sheen}
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
      {result && <p className="small-print">{result.backend}.</p>}
    </>
  );
}

const MOST_COATS = 8;

function CoatsStep() {
  const stack = usePieceStore((state) => state.piece.stack);
  const coats = stack.coats;
  return (
    <>
      <p className="plain">
        {coats.length === 0
          ? 'Bare wood: the beam darkens it, so the dark tones are burned and the light ones left.'
          : 'Let every coat cure fully, as its data sheet says: uncured paint is tacky and burns badly.'}
      </p>
      <PaintChoice />
      {coats.map((_, index) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: coats have no identity but their place
        <CoatControls key={index} index={index} />
      ))}
      <Button
        className="wide"
        isDisabled={coats.length >= MOST_COATS}
        onPress={() =>
          changeStack((old) => ({ ...old, coats: [{ ...DEFAULT_TOP_COAT, name: 'New coat' }, ...old.coats] }))
        }
      >
        Add a coat on top
      </Button>
      <More label="Where the film is uneven">
        <FilmControls stack={stack} />
      </More>
    </>
  );
}

const TITLES: Readonly<Record<Step, string>> = {
  slab: 'Slab',
  coats: 'Coats',
  picture: 'Picture',
  passes: 'Passes',
  proof: 'Proof',
  'hand-over': 'Hand over',
};

const PANELS: Readonly<Record<Step, ComponentType>> = {
  slab: SlabStep,
  coats: CoatsStep,
  picture: PictureStep,
  passes: PassesStep,
  proof: ProofStep,
  'hand-over': HandOverStep,
};

/** The steps of the job, one at a time. */
export function Column() {
  const openStep = useSessionStore((state) => state.openStep) ?? 'slab';
  // Pressed again, a step goes back to its front.
  const [turns, setTurns] = useState(0);
  const open = (step: Step) => {
    setSession({ openStep: step });
    setTurns(turns + 1);
  };
  const Panel = PANELS[openStep];
  const next = STEPS[STEPS.indexOf(openStep) + 1];
  return (
    <aside className="column" aria-label="Steps">
      <SheetGrip />
      <Head />
      <nav className="step-nav" aria-label="Steps of the job">
        {STEPS.map((step) => (
          <Button
            key={step}
            className="step-button"
            aria-expanded={openStep === step}
            aria-controls="step"
            onPress={() => open(step)}
          >
            <span>{TITLES[step]}</span>
            <StepSummary step={step} />
          </Button>
        ))}
      </nav>
      <section className="step" id="step" aria-label={TITLES[openStep]} key={`${openStep} ${turns}`}>
        <StepPages>
          <Section name={`The step “${TITLES[openStep]}”`}>
            <Panel />
          </Section>
          {next && (
            <Button className="wide" onPress={() => open(next)}>
              Next: {TITLES[next]}
            </Button>
          )}
          <footer className="column-foot">
            <a href="./licences.html" target="_blank" rel="noreferrer">
              Licences
            </a>
          </footer>
        </StepPages>
      </section>
      <p className="hint-dock" aria-hidden="true">
        Point at a setting to read what it does to the wood.
      </p>
    </aside>
  );
}

function Head() {
  const name = usePieceStore((state) => state.piece.name);
  const change = usePieceStore((state) => state.change);
  const past = useStore(usePieceStore.temporal, (state) => state.pastStates.length);
  const future = useStore(usePieceStore.temporal, (state) => state.futureStates.length);
  return (
    <header className="head">
      <div className="head-title">
        <h1>Foreburn</h1>
        <PiecesButton />
      </div>
      <TextField
        aria-label="Name of the piece"
        className="piece-name"
        value={name}
        maxLength={200}
        onChange={(text) => change((piece) => ({ ...piece, name: text }))}
      >
        <Input placeholder="Name of the piece" />
      </TextField>
      <KeptMark />
      <div className="head-actions">
        <span className="file-ways">
          <OpenPiece />
          <Button className="quiet" onPress={() => inBackground(beginBlank())}>
            New piece
          </Button>
        </span>
        <span className="spacer" />
        <StepButtons canUndo={past > 0} canRedo={future > 0} undo={undo} redo={redo} />
      </div>
    </header>
  );
}

const STATUS_WORDS: Readonly<Record<ProofRecord['status'], string>> = {
  computing: 'computing…',
  done: '',
  failed: 'not computed',
  stopped: 'stopped',
  waiting: 'not computed',
};

/** What the step holds, so that a closed one still tells. */
function StepSummary({ step }: { step: Step }) {
  const piece = usePieceStore((state) => state.piece);
  const current = useProofStore((state) => state.current);
  if (step !== 'proof') return <small>{summaryOf(step, piece)}</small>;
  if (!current?.result) return <small>{STATUS_WORDS[current?.status ?? 'computing']}</small>;
  return (
    <small>
      {current.sure ? of100(current.sure.accepted) : 'judging…'}
      {/* There is no room for the mark itself, which stands beside the verdict in words. */}
      <span className="unseen">
        <UncalibratedMark source={current.piece.certainty.source} />
      </span>
    </small>
  );
}

function summaryOf(step: Step, piece: Piece): string {
  const [pass] = piece.passes;
  switch (step) {
    case 'slab':
      return `${Math.round(piece.slab.widthMm)}\u2009×\u2009${Math.round(piece.slab.heightMm)}\u00a0mm`;
    case 'coats':
      return piece.stack.coats.map((coat) => coat.name).join(' over ') || 'bare wood';
    case 'picture':
      return `${Math.round(piece.picture.widthMm)} mm wide`;
    case 'passes':
      return piece.passes.length > 1 ? `${piece.passes.length} passes` : powers(pass.lightEndPower, pass.darkEndPower);
    default:
      return '';
  }
}

/** Stays beside the name for as long as the latest changes are not kept. */
function KeptMark() {
  const fault = useKeepingStore((state) => state.fault);
  return (
    fault !== null && (
      <p className="kept-mark">
        Not kept: {fault}.
        <Button className="quiet" onPress={savePieceFile}>
          Save it as a file
        </Button>
      </p>
    )
  );
}

/** A film that was measured, or found in a photograph of the burned piece: taken in from a file, or forgotten. */
function MeasuredFilm({ found }: { found: FoundFilm | null }) {
  const change = usePieceStore((state) => state.change);
  const [fault, setFault] = useState<string | null>(null);
  const take = async (file: File) => {
    try {
      if (file.size > LIMITS.drawingBytes) throw new Error('this file is too large for a film map');
      const map = parseFilmMap(new Uint8Array(await file.arrayBuffer()));
      change((piece) => withFilmMap(piece, map));
      setFault(null);
    } catch (error) {
      setFault(`${file.name}: ${(error as Error).message}`);
    }
  };
  return (
    <>
      {found && (
        <p className="plain">
          A film measured at {found.tiles.columns} × {found.tiles.rows} places lies under this proof.
        </p>
      )}
      <OpenButton types={['.csv', '.txt', '.npy']} className="quiet" onFile={take}>
        Take in a measured film…
      </OpenButton>
      {found && (
        <Button
          className="quiet"
          onPress={() => changeStack((old) => ({ ...old, film: { ...old.film, found: null, shown: 'mean' } }))}
        >
          Forget it
        </Button>
      )}
      <div aria-live="polite">{fault && <p className="warning">{fault}</p>}</div>
      <p className="hint">
        A table (CSV) or a NumPy array of the top coat’s dry thickness in µm, spread over the box round the slab, its
        first row at the far edge.
      </p>
    </>
  );
}

/** Where the films happen to be thick and thin. */
function FilmControls({ stack }: { stack: Stack }) {
  const edit = (part: Partial<Stack['film']>) => changeStack((old) => ({ ...old, film: { ...old.film, ...part } }));
  return (
    <>
      <p className="plain">
        Where exactly a film is thick is not known before it is measured. The mean film is the best guess for every
        place; the odds reckon with all that may lie there.
      </p>
      <PairSwitch
        label="Film shown"
        value={stack.film.shown}
        options={[
          { id: 'mean', label: 'Mean' },
          { id: 'drawn', label: 'One that may lie there' },
        ]}
        onChange={(shown) => edit({ shown })}
        hint="A film that may lie there shows what blotches would look like, not where they will be."
      />
      {stack.film.shown === 'drawn' && (
        <Field of="stack.film.seed" hint="Another number, another film of the same kind." />
      )}
      <MeasuredFilm found={stack.film.found} />
      <Field of="stack.film.slowScaleMm" hint="Spray overlaps and runs are a few centimetres apart." />
      <Field of="stack.film.fineScaleMm" hint="Orange peel and grain are a millimetre or so." />
    </>
  );
}

/** How much of the top coat is left in the light areas: share of the cells by residue. */
function ResidueHistogram({ counts }: { counts: readonly number[] }) {
  const total = counts.reduce((sum, count) => sum + count, 0) || 1;
  const shares = counts.map((count) => count / total);
  const highest = Math.max(...shares, 1e-9);
  const last = Math.max(10, shares.findLastIndex((share) => share > 0.001) + 2);
  const shown = shares.slice(0, Math.min(last, shares.length));
  const cleared = CLEARED_RESIDUE_UM / HISTOGRAM_BIN_UM;
  const clean = shares.slice(0, cleared).reduce((sum, share) => sum + share, 0);
  // A root scale: the few thick residues matter as much as the many thin ones.
  const height = (share: number) => 40 * Math.sqrt(share / highest);
  return (
    <figure className="histogram">
      <svg
        viewBox={`0 0 ${shown.length} 44`}
        preserveAspectRatio="none"
        role="img"
        aria-label={`Residue in the light areas: ${percent(clean)} have less than ${CLEARED_RESIDUE_UM} µm`}
      >
        {shown.map((share, i) => (
          <rect
            // biome-ignore lint/suspicious/noArrayIndexKey: bins are places
            key={i}
            x={i + 0.08}
            y={42 - height(share)}
            width={0.84}
            height={height(share)}
            className={i < cleared ? 'bar-clean' : 'bar-left'}
          />
        ))}
        <line x1={cleared} x2={cleared} y1={0} y2={42} className="bar-limit" vectorEffect="non-scaling-stroke" />
      </svg>
      <figcaption>
        <span>0</span>
        <span>residue of the top coat in the light areas, µm (heights by root of share)</span>
        <span>{shown.length * HISTOGRAM_BIN_UM}</span>
      </figcaption>
    </figure>
  );
}
