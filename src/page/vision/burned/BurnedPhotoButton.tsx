import { Suspense } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../../faults/lazy-part.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { setBurnedPhoto, useBurnedPhoto } from './burned-photo-store.ts';

/** Loaded once it is wanted: most visits do without. */
const BurnedPhotoDialog = lazyPart(() => import('./BurnedPhotoDialog.tsx').then((module) => module.BurnedPhotoDialog));

/** Corrects the proof by a photograph of the piece as it came out. */
export function BurnedPhotoButton() {
  const { open, told } = useBurnedPhoto();
  const hasPhoto = usePieceStore((state) => state.photo !== null);
  return (
    <>
      <Button
        className="wide"
        isDisabled={!hasPhoto}
        onPress={() => setBurnedPhoto({ open: true, fault: null, told: null })}
      >
        From a photograph of it…
      </Button>
      <div aria-live="polite">{told && <p className="plain">{told}</p>}</div>
      {open && (
        <Suspense fallback={null}>
          <BurnedPhotoDialog />
        </Suspense>
      )}
    </>
  );
}
