import { useState } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../faults/lazy-part.tsx';

const PiecesDrawer = lazyPart(() => import('./PiecesDrawer.tsx').then((module) => module.PiecesDrawer));

/** Opens the drawer with all pieces that this browser keeps. */
export function PiecesButton() {
  const [open, setOpen] = useState(false);
  return (
    <>
      <Button className="quiet" onPress={() => setOpen(true)}>
        Pieces…
      </Button>
      {open && <PiecesDrawer onClose={() => setOpen(false)} />}
    </>
  );
}
