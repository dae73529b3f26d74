import { decodePieceFile } from '../core/piece/file.ts';
import { fittingWidthMm } from '../core/piece/fit.ts';
import { PieceError, parsePiece } from '../core/piece/parse.ts';
import { keyOf, loadWork, rememberPhoto } from './photo-bytes.ts';
import { openPhoto } from './proof-client.ts';
import { type PieceState, usePieceStore } from './stores/piece-store.ts';
import { setProof } from './stores/proof-store.ts';

export const PHOTO_TYPES = ['image/jpeg', 'image/png', 'image/webp'];
export const PIECE_TYPES = ['.foreburn', '.json'];
const DEMO = 'demo/hollin-reach.foreburn';

const complain = (name: string, reason: string): void => setProof({ notice: `${name} ${reason}` });

/** Opens what was dropped or chosen: a piece or a photograph. What is open stays open unless all goes well. */
export async function takeFiles(files: readonly File[]): Promise<void> {
  const [file] = files;
  if (!file) return;
  if (files.length > 1) setProof({ notice: `${files.length} files at once: only ${file.name} is opened.` });
  else setProof({ notice: null });
  try {
    const bytes = new Uint8Array(await file.arrayBuffer());
    if (/\.(foreburn|json)$/i.test(file.name)) await takePiece(bytes, file.name);
    else await takePhoto(bytes, file.name);
  } catch (error) {
    complain(file.name, `cannot be read: ${error instanceof Error ? error.message : String(error)}`);
  }
}

async function takePhoto(bytes: Uint8Array, name: string): Promise<void> {
  const key = await keyOf(bytes);
  try {
    const size = await openPhoto(key, bytes);
    rememberPhoto(key, bytes);
    const { piece } = usePieceStore.getState();
    usePieceStore.getState().replace({
      piece: {
        ...piece,
        picture: {
          ...piece.picture,
          file: name.slice(-200),
          widthMm: Math.min(piece.picture.widthMm, fittingWidthMm(piece.slab, size.height / size.width)),
        },
      },
      photo: { key, name, ...size },
    });
  } catch (error) {
    complain(name, error instanceof Error ? error.message : String(error));
  }
}

async function takePiece(bytes: Uint8Array, name: string): Promise<void> {
  try {
    usePieceStore.getState().replace(await openPiece(bytes));
  } catch (error) {
    if (error instanceof PieceError) complain(name, `cannot be opened: ${error.message}`);
    else throw error;
  }
}

/** A bare `piece.json` keeps the photograph that is open. @throws PieceError. */
async function openPiece(bytes: Uint8Array): Promise<PieceState> {
  const { piece, images } = decodePieceFile(bytes);
  const image = images.get(piece.picture.file);
  if (!image) {
    if (images.size > 0) throw new PieceError([`the picture "${piece.picture.file}" is missing in it`]);
    return { piece, photo: usePieceStore.getState().photo };
  }
  const key = await keyOf(image);
  const size = await openPhoto(key, image).catch((error: Error) => {
    throw new PieceError([`its picture "${piece.picture.file}" ${error.message}`]);
  });
  rememberPhoto(key, image);
  return { piece, photo: { key, name: piece.picture.file, ...size } };
}

/** What was open when the page was left, else the demo piece. Undo does not go back before it. */
export async function openFirst(): Promise<void> {
  await openSaved();
  usePieceStore.temporal.getState().clear();
}

/** Shows what is opened by itself, unless the maker was quicker and opened something already. */
function settleOn(state: PieceState): void {
  if (!usePieceStore.getState().photo) usePieceStore.getState().replace(state);
}

async function openSaved(): Promise<void> {
  try {
    const saved = await loadWork();
    if (saved) {
      const { work, bytes } = saved;
      const piece = parsePiece(work.piece);
      const size = await openPhoto(work.photoKey, bytes);
      rememberPhoto(work.photoKey, bytes);
      settleOn({ piece, photo: { key: work.photoKey, name: work.photoName, ...size } });
      return;
    }
  } catch (error) {
    setProof({
      notice: `The work saved in this browser cannot be read (${(error as Error).message}); the demo piece is shown instead.`,
    });
  }
  await openDemo(settleOn);
}

export async function openDemo(show = usePieceStore.getState().replace): Promise<void> {
  try {
    const response = await fetch(DEMO);
    if (!response.ok) throw new Error(`status ${response.status}`);
    show(await openPiece(new Uint8Array(await response.arrayBuffer())));
  } catch (error) {
    setProof({ notice: `The demo piece cannot be loaded (${(error as Error).message}). Open a photograph to begin.` });
  }
}
