import { pieceImages } from '../core/piece/images.ts';
import { inBackground } from './faults/tell-fault.ts';
import { photoBytes, saveWork } from './photo-bytes.ts';
import { openPhoto, orderProof } from './proof-client.ts';
import { usePieceStore } from './stores/piece-store.ts';
import { setProof } from './stores/proof-store.ts';

/** Orders a new proof and saves the work whenever the piece or its photograph changes. */
export function followPiece(): void {
  let ordered: { physics: string; photoKey: string } | null = null;
  usePieceStore.subscribe(({ piece, photo }) => {
    if (!photo) return;
    saveWork({
      piece: JSON.stringify(piece),
      photoKey: photo.key,
      photoName: photo.name,
      images: pieceImages(piece),
    }).catch((error: Error) =>
      setProof({ notice: `The work could not be saved in this browser (${error.message}); save the piece as a file.` }),
    );

    // Name, quote and log burn nothing, nor does what the wood looks like on a photograph, where the slab lies, or how programs are
    // worded.
    const physics = JSON.stringify({
      ...piece,
      name: '',
      quote: null,
      log: null,
      slab: { ...piece.slab, photo: null },
      placement: null,
      machine: { ...piece.machine, control: piece.machine.control.correctRowOffset },
    });
    if (ordered?.physics === physics && ordered.photoKey === photo.key) return;
    ordered = { physics, photoKey: photo.key };
    const bytes = photoBytes(photo.key);
    const opened = bytes ? openPhoto(photo.key, bytes) : Promise.resolve();
    inBackground(opened.then(() => orderProof(usePieceStore.getState().piece, photo.key)));
  });
}
