import { Suspense, useEffect, useRef, useState } from 'react';
import { DropZone } from 'react-aria-components';
import type { Padding, SlabViewHandle } from '../render/slab/SlabView.tsx';
import { setProof } from './burn/proof-store.ts';
import { Column } from './Column.tsx';
import { CompareTools } from './compare/CompareTools.tsx';
import { ProofStrip } from './compare/ProofStrip.tsx';
import { PIN_TYPE } from './compare/pin-type.ts';
import { SideNames } from './compare/SideNames.tsx';
import { lazyPart } from './faults/lazy-part.tsx';
import { Notice } from './faults/Notice.tsx';
import { Section } from './fields/Section.tsx';
import { droppedFiles } from './files/dropped-files.ts';
import { PlaceLine } from './render/stage/PlaceLine.tsx';
import { Readout } from './render/stage/Readout.tsx';
import { ViewTools } from './render/stage/ViewTools.tsx';
import { takeFiles } from './store/files.ts';
import { redo, undo } from './store/piece-store.ts';
import { CalibrateSheet } from './studies/calibrate/CalibrateButton.tsx';

/** three is half of the page: the column need not wait for it. */
const Stage = lazyPart(() => import('./render/stage/Stage.tsx').then((module) => module.Stage));

const STRIP_PX = 116;
/** Below these widths (the second if the page is upright) the column lies under the slab instead of beside it; see styles.css. */
const NARROW_PX = 760;
const UPRIGHT_PX = 960;
const SNUG_PX = 1100;

/** What covers the stage's edges, so that the slab is shown in what is free. */
function paddingFor(width: number, height: number): Padding {
  if (width < NARROW_PX || (width < UPRIGHT_PX && width < height))
    return { left: 16, right: 16, top: 64, bottom: 0.38 * height + 150 };
  return { left: width <= SNUG_PX ? 320 : 364, right: 36, top: 64, bottom: STRIP_PX + 24 };
}

/** Why the slab may not be there, in words; null where WebGL 2 is not what is missing. */
function withoutGraphics(): string | null {
  if (document.createElement('canvas').getContext('webgl2')) return null;
  return 'The browser gives the page no WebGL 2. Reload the page; if that does not help, turn on hardware acceleration or use another browser. Proofs are computed all the same: their numbers stand on the strip, and Hand over saves them as pictures.';
}

export function App() {
  return (
    <Section name="The page" place="section-afloat">
      <Page />
    </Section>
  );
}

function Page() {
  const handle = useRef<SlabViewHandle>(null);
  const padding = usePadding();
  useUndoKeys();
  return (
    <DropZone
      className="page"
      getDropOperation={(types) => (types.has(PIN_TYPE) ? 'cancel' : 'copy')}
      onDrop={(event) => {
        droppedFiles(event.items).then(takeFiles, (error: Error) => setProof({ notice: error.message }));
      }}
    >
      <main className="stage" aria-label="The slab">
        <Section name="The slab" explain={withoutGraphics}>
          <Suspense fallback={null}>
            <Stage handle={handle} padding={padding} />
          </Suspense>
        </Section>
      </main>
      <Section name="The column of steps" place="column">
        <Column />
      </Section>
      <SideNames padding={padding} />
      <CompareTools />
      <ViewTools handle={handle} />
      <Readout />
      <PlaceLine />
      <Section name="The strip of proofs" place="proof-strip">
        <ProofStrip />
      </Section>
      <Notice />
      <Section name="The calibration" place="section-afloat">
        <CalibrateSheet />
      </Section>
      <div className="drop-veil" aria-hidden="true">
        Drop the photograph, or a piece
      </div>
    </DropZone>
  );
}

const measurePadding = (): Padding => paddingFor(window.innerWidth, window.innerHeight);

function usePadding(): Padding {
  const [padding, setPadding] = useState(measurePadding);
  useEffect(() => {
    const onResize = () => setPadding(measurePadding());
    window.addEventListener('resize', onResize);
    return () => window.removeEventListener('resize', onResize);
  }, []);
  return padding;
}

function useUndoKeys(): void {
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const typing = event.target instanceof HTMLInputElement && event.target.type === 'text';
      if (typing || !(event.ctrlKey || event.metaKey)) return;
      const key = event.key.toLowerCase();
      if (key !== 'z' && key !== 'y') return;
      event.preventDefault();
      if (key === 'y' || event.shiftKey) redo();
      else undo();
    };
    window.addEventListener('keydown', onKey);
    return () => window.removeEventListener('keydown', onKey);
  }, []);
}
