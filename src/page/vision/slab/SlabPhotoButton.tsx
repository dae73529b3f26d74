import { Suspense } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../../faults/lazy-part.tsx';
import { setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

/** Loaded once it is wanted: most visits do without. */
const SlabPhotoDialog = lazyPart(() => import('./SlabPhotoDialog.tsx').then((module) => module.SlabPhotoDialog));

export function SlabPhotoButton() {
  const open = useSlabPhoto((state) => state.open);
  return (
    <>
      <Button className="wide" onPress={() => setSlabPhoto({ open: true })}>
        From a photograph of the slab…
      </Button>
      {open && (
        <Suspense fallback={null}>
          <SlabPhotoDialog />
        </Suspense>
      )}
    </>
  );
}
