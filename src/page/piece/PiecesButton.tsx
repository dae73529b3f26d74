import { Suspense } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../faults/lazy-part.tsx';
import { inBackground } from '../faults/tell-fault.ts';
import { showPieces } from './pieces-actions.ts';
import { usePieces } from './pieces-store.ts';

const PiecesDialog = lazyPart(() => import('./PiecesDialog.tsx').then((module) => module.PiecesDialog));

export function PiecesButton() {
  const open = usePieces((state) => state.open);
  return (
    <>
      <Button className="quiet" onPress={() => inBackground(showPieces())}>
        Kept pieces…
      </Button>
      {open && (
        <Suspense fallback={null}>
          <PiecesDialog />
        </Suspense>
      )}
    </>
  );
}
