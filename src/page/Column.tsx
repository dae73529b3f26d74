import type { ComponentType } from 'react';
import { Button, Disclosure, DisclosurePanel, FileTrigger, Heading, Input, TextField } from 'react-aria-components';
import { useStore } from 'zustand';
import { mmPerSToMmPerMin } from '../base/units.ts';
import type { Piece } from '../piece/schema.ts';
import { of100 } from '../studies/diagnose/words.ts';
import { type ProofRecord, useProofStore } from './burn/proof-store.ts';
import { powers } from './burn/words.ts';
import { inBackground } from './faults/tell-fault.ts';
import { Section } from './fields/Section.tsx';
import { UncalibratedMark } from './fields/UncalibratedMark.tsx';
import { PictureStep } from './image/PictureStep.tsx';
import { HandOverStep } from './outputs/HandOverStep.tsx';
import { CoatsStep } from './physics/CoatsStep.tsx';
import { PassesStep } from './physics/PassesStep.tsx';
import { SlabStep } from './physics/SlabStep.tsx';
import { KeptMark } from './piece/KeptMark.tsx';
import { PiecesButton } from './piece/PiecesButton.tsx';
import { openDemo, PIECE_TYPES, takeFiles } from './store/files.ts';
import { redo, undo, usePieceStore } from './store/piece-store.ts';
import { STEPS, type Step, setSession, useSessionStore } from './store/session-store.ts';
import { ProofStep } from './studies/ProofStep.tsx';

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

/** The steps of the job, one open at a time. */
export function Column() {
  const openStep = useSessionStore((state) => state.openStep);
  return (
    <aside className="column" aria-label="Steps">
      <Head />
      {/* Not a DisclosureGroup: it would take what is folded inside a step for one of its own. */}
      <div className="steps">
        {STEPS.map((step) => {
          const Panel = PANELS[step];
          const open = openStep === step;
          return (
            <Disclosure
              key={step}
              className="step"
              isExpanded={open}
              onExpandedChange={(expanded) => setSession({ openStep: expanded ? step : null })}
            >
              <Heading level={2}>
                <Button slot="trigger" className="step-button">
                  <span>{TITLES[step]}</span>
                  <StepSummary step={step} />
                </Button>
              </Heading>
              <DisclosurePanel className="step-panel">
                {open && (
                  <div className="step-body">
                    <Section name={`The step “${TITLES[step]}”`}>
                      <Panel />
                    </Section>
                  </div>
                )}
              </DisclosurePanel>
            </Disclosure>
          );
        })}
        <footer className="column-foot">
          <a href="./licences.html" target="_blank" rel="noreferrer">
            Licences
          </a>
        </footer>
      </div>
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
        <FileTrigger
          acceptedFileTypes={PIECE_TYPES}
          onSelect={(files) => inBackground(takeFiles(files ? [...files] : []))}
        >
          <Button className="quiet">Open piece…</Button>
        </FileTrigger>
        <Button className="quiet" onPress={() => inBackground(openDemo())}>
          Demo piece
        </Button>
        <span className="spacer" />
        <Button className="quiet" isDisabled={past === 0} onPress={undo}>
          Undo
        </Button>
        <Button className="quiet" isDisabled={future === 0} onPress={redo}>
          Redo
        </Button>
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
      {current.sure ? `comes out in ${of100(current.sure.accepted)}` : 'judging…'}{' '}
      <UncalibratedMark source={current?.piece.certainty.source} />
    </small>
  );
}

function summaryOf(step: Step, piece: Piece): string {
  const [pass] = piece.passes;
  switch (step) {
    case 'slab':
      return `${Math.round(piece.slab.widthMm)} × ${Math.round(piece.slab.heightMm)} mm ${piece.slab.wood.name.toLowerCase()}`;
    case 'coats':
      return piece.stack.coats.map((coat) => coat.name).join(' over ') || 'bare wood';
    case 'picture':
      return `${Math.round(piece.picture.widthMm)} mm wide`;
    case 'passes':
      return `${powers(pass.lightEndPower, pass.darkEndPower)}, ${Math.round(mmPerSToMmPerMin(pass.feedMmPerS))}${
        piece.passes.length > 1 ? `, ${piece.passes.length} passes` : ''
      }`;
    default:
      return '';
  }
}
