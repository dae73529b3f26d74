import { useState } from 'react';
import { Button } from 'react-aria-components';
import { lazyPart } from '../faults/lazy-part.tsx';

const Board = lazyPart(() => import('./Board.tsx').then((module) => module.Board));

/** Opens the board with all pieces that this browser keeps. */
export function PiecesButton() {
  const [open, setOpen] = useState(false);
  return (
    <>
      <Button className="quiet" onPress={() => setOpen(true)}>
        Pieces…
      </Button>
      {open && <Board onClose={() => setOpen(false)} />}
    </>
  );
}
