import { Suspense, useState } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../../faults/lazy-part.tsx';
import { usePieceStore } from '../../store/piece-store.ts';

/** Loaded once it is wanted: most visits do without. */
const MaskDialog = lazyPart(() => import('./MaskDialog.tsx').then((module) => module.MaskDialog));

export function MaskButton() {
  const photo = usePieceStore((state) => state.photo);
  const strokes = usePieceStore((state) => state.piece.picture.strokes.length);
  const [open, setOpen] = useState(false);
  return (
    <div>
      <Button className="wide" isDisabled={!photo} onPress={() => setOpen(true)}>
        {strokes > 0 ? 'Change the mask…' : 'Mask…'}
      </Button>
      <p className="hint">
        {strokes > 0
          ? `${strokes === 1 ? 'One stroke says' : `${strokes} strokes say`} what of the picture is not burned.`
          : 'Paint over what shall not be burned, or take a calm background away.'}
      </p>
      {open && photo && (
        <Suspense fallback={null}>
          <MaskDialog photo={photo} onClose={() => setOpen(false)} />
        </Suspense>
      )}
    </div>
  );
}
