import { Button, FileTrigger } from 'react-aria-components';
import { inBackground } from '../faults/lazy-part.tsx';
import { PIECE_TYPES, takeFiles } from '../store/files.ts';

/** Opens a piece from a file. */
export function OpenPiece() {
  return (
    <FileTrigger acceptedFileTypes={PIECE_TYPES} onSelect={(files) => inBackground(takeFiles(files ? [...files] : []))}>
      <Button className="quiet">Open piece…</Button>
    </FileTrigger>
  );
}
