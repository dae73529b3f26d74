import { InputError } from '../core/input-error.ts';
import { readPieceCode } from '../core/paper/piece-code.ts';
import { decodePieceFile } from '../core/piece/file.ts';
import { pieceImages, renameImages } from '../core/piece/images.ts';
import { PieceError, parsePiece } from '../core/piece/parse.ts';
import type { Piece } from '../core/piece/schema.ts';
import { fitPicture } from '../core/placement/fit-picture.ts';
import { askedCode, keptPiece } from './kept-pieces.ts';
import { forOtherPhotograph } from './other-photograph.ts';
import { keepImage, keyOf, loadWork, rememberPhoto } from './photo-bytes.ts';
import { openPhoto } from './proof-client.ts';
import { readFile } from './read-file.ts';
import { type PieceState, usePieceStore } from './stores/piece-store.ts';
import { setProof } from './stores/proof-store.ts';

export const PHOTO_TYPES = ['image/jpeg', 'image/png', 'image/webp'];
export const PIECE_TYPES = ['.foreburn', '.json'];
const DEMO = 'demo/hollin-reach.foreburn';
/** Without it the page is as good for a photograph of the maker's. */
const DEMO_WAIT_MS = 10_000;

const complain = (name: string, reason: string): void => setProof({ notice: `${name} ${reason}` });

/** Opens what was dropped or chosen: a piece or a photograph. What is open stays open unless all goes well. */
export async function takeFiles(files: readonly File[]): Promise<void> {
  const [file] = files;
  if (!file) return;
  if (files.length > 1) setProof({ notice: `${files.length} files at once: only ${file.name} is opened.` });
  else setProof({ notice: null });
  try {
    const bytes = await readFile(file);
    if (/\.(foreburn|json)$/i.test(file.name)) await takePiece(bytes, file.name);
    else await takePhoto(bytes, file.name);
  } catch (error) {
    complain(
      file.name,
      error instanceof InputError ? error.message : `cannot be read: ${error instanceof Error ? error.message : error}`,
    );
  }
}

async function takePhoto(bytes: Uint8Array, name: string): Promise<void> {
  const key = await keyOf(bytes);
  try {
    const size = await openPhoto(key, bytes);
    rememberPhoto(key, bytes);
    const { piece: before, photo } = usePieceStore.getState();
    const { piece, notice } = photo?.key === key ? { piece: before, notice: null } : forOtherPhotograph(before);
    if (notice) setProof({ notice });
    const picture = { ...piece.picture, file: name.slice(-200) };
    // Where nothing fits, it stays as large as it was: the maker moves it.
    const largestMm = fitPicture(piece.slab, picture, size)?.widthMm ?? picture.widthMm;
    usePieceStore.getState().replace({
      piece: { ...piece, picture: { ...picture, widthMm: Math.min(picture.widthMm, largestMm) } },
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

/** A piece that names no photograph, or a bare `piece.json`, keeps the one that is open. @throws PieceError. */
async function openPiece(bytes: Uint8Array): Promise<PieceState> {
  const { piece: saved, images } = decodePieceFile(bytes);
  const piece = await withImages(saved, images);
  const image = images.get(piece.picture.file);
  if (!image) {
    if (images.size > 0 && piece.picture.file !== '')
      throw new PieceError([`the picture "${piece.picture.file}" is missing in it`]);
    return { piece, photo: usePieceStore.getState().photo };
  }
  const key = await keyOf(image);
  const size = await openPhoto(key, image).catch((error: Error) => {
    throw new PieceError([`its picture "${piece.picture.file}" ${error.message}`]);
  });
  rememberPhoto(key, image);
  return { piece, photo: { key, name: piece.picture.file, ...size } };
}

/** The piece with the bytes of its images kept under names of ours; what is missing is done without, and told. */
async function withImages(piece: Piece, images: ReadonlyMap<string, Uint8Array>): Promise<Piece> {
  const names = new Map<string, string>();
  for (const name of pieceImages(piece)) {
    const bytes = images.get(name);
    if (bytes) names.set(name, await keepImage(bytes));
  }
  if (pieceImages(piece).some((name) => !names.has(name))) {
    setProof({ notice: 'A picture of the slab is missing in this piece; all else is there.' });
  }
  return renameImages(piece, (name) => names.get(name) ?? null);
}

/** What was open when the page was left, else the demo piece. Undo does not go back before it. */
export async function openFirst(): Promise<void> {
  await openSaved();
  usePieceStore.temporal.getState().clear();
}

async function openSaved(): Promise<void> {
  const code = askedCode();
  if (code !== null && (await openCode(code))) return;
  try {
    const saved = await loadWork();
    if (saved) {
      const { work, bytes, images } = saved;
      const piece = await withImages(parsePiece(work.piece), images);
      const size = await openPhoto(work.photoKey, bytes);
      rememberPhoto(work.photoKey, bytes);
      usePieceStore.getState().replace({ piece, photo: { key: work.photoKey, name: work.photoName, ...size } });
      return;
    }
  } catch (error) {
    setProof({
      notice: `The work saved in this browser cannot be read (${(error as Error).message}); the demo piece is shown instead.`,
    });
  }
  await openDemo();
}

/** Opens the piece that a bench sheet's code stands for; says so if it cannot. */
export async function openCode(typed: string): Promise<boolean> {
  const code = readPieceCode(typed);
  if (code === null) {
    setProof({
      notice: `“${typed.slice(0, 20)}” is no code of a piece: it has eight letters and figures, as in 7KQ2-M0XB.`,
    });
    return false;
  }
  try {
    usePieceStore.getState().replace(await openPiece(await keptPiece(code)));
    return true;
  } catch (error) {
    setProof({ notice: (error as Error).message });
    return false;
  }
}

export async function openDemo(): Promise<void> {
  try {
    const response = await fetch(DEMO, { signal: AbortSignal.timeout(DEMO_WAIT_MS) });
    if (!response.ok) throw new Error(`status ${response.status}`);
    usePieceStore.getState().replace(await openPiece(new Uint8Array(await response.arrayBuffer())));
  } catch (error) {
    setProof({ notice: `The demo piece cannot be loaded (${(error as Error).message}). Open a photograph to begin.` });
  }
}
