import { fileName } from './file-name.ts';
import { pieceFileBytes } from './piece-file.ts';
import { saveFile } from './save-file.ts';
import { usePieceStore } from './stores/piece-store.ts';

/** Hands the piece that is open to the maker as one file. */
export function savePiece(): void {
  const { piece, photo } = usePieceStore.getState();
  saveFile(`${fileName(piece.name)}.foreburn`, pieceFileBytes({ piece, photo }), 'application/zip');
}
