import { lazy, Suspense, useEffect, useRef, useState } from 'react';
import { DropZone } from 'react-aria-components';
import type { SlabViewHandle } from '../view/SlabView.tsx';
import { Column } from './Column.tsx';
import { takeFiles } from './files.ts';
import { Notice } from './Notice.tsx';
import { Readout } from './stage/Readout.tsx';
import { ViewTools } from './stage/ViewTools.tsx';
import { redo, undo } from './stores/piece-store.ts';
import { ProofStrip } from './strip/ProofStrip.tsx';

/** three is half of the page: the column need not wait for it. */
const Stage = lazy(() => import('./stage/Stage.tsx').then((module) => ({ default: module.Stage })));

const COLUMN_PX = 336;
const STRIP_PX = 116;
/** Below this width the column lies over the lower half instead of beside the slab. */
const NARROW_PX = 760;

export function App() {
  const handle = useRef<SlabViewHandle>(null);
  const narrow = useNarrow();
  useUndoKeys();
  const padding = narrow
    ? { left: 16, right: 16, top: 64, bottom: window.innerHeight * 0.45 }
    : { left: COLUMN_PX + 28, right: 36, top: 64, bottom: STRIP_PX + 24 };
  return (
    <DropZone
      className="page"
      getDropOperation={() => 'copy'}
      onDrop={(event) => {
        const items = event.items.filter((item) => item.kind === 'file');
        void Promise.all(items.map((item) => item.getFile())).then(takeFiles);
      }}
    >
      <main className="stage" aria-label="The slab">
        <Suspense fallback={null}>
          <Stage handle={handle} padding={padding} />
        </Suspense>
      </main>
      <Column />
      <ViewTools handle={handle} />
      <Readout />
      <ProofStrip />
      <Notice />
      <div className="drop-veil" aria-hidden="true">
        Drop the photograph, or a piece
      </div>
    </DropZone>
  );
}

function useNarrow(): boolean {
  const [narrow, setNarrow] = useState(() => window.innerWidth < NARROW_PX);
  useEffect(() => {
    const measure = () => setNarrow(window.innerWidth < NARROW_PX);
    window.addEventListener('resize', measure);
    return () => window.removeEventListener('resize', measure);
  }, []);
  return narrow;
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
