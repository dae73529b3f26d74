import { InputError } from '../../base/input-error.ts';
import { fitPicture } from '../../physics/bed/placed-box.ts';
import { FIRST_PAINT, paintStack } from '../../physics/material/paints.ts';
import { createPiece } from '../../piece/defaults.ts';
import { decodePieceFile, PieceError } from '../../piece/file.ts';
import { pieceImages, renameImages } from '../../piece/images.ts';
import type { PictureSettings, Piece, Slab, Tone } from '../../piece/schema.ts';
import { openPhoto } from '../burn/proof-remote.ts';
import { setProof } from '../burn/proof-store.ts';
import { keepImage, keyOf, readable, readFile, rememberPhoto } from '../files/photo-bytes.ts';
import { beginPiece, discard, leavePiece, useKeepingStore } from './keeping.ts';
import { beginOpening } from './open-kept.ts';
import { isBlank, type OpenPhoto, type PieceState, setSession, usePieceStore } from './piece-store.ts';

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
  const isLatest = beginOpening();
  try {
    const bytes = await readFile(file);
    if (/\.(foreburn|json)$/i.test(file.name)) await takePiece(bytes, file.name, isLatest);
    else await takePhoto(bytes, file.name, isLatest);
  } catch (error) {
    complain(
      file.name,
      error instanceof InputError ? error.message : `cannot be read: ${error instanceof Error ? error.message : error}`,
    );
  }
}

/** A photograph: the first of a piece, one of a piece of its own in place of the demo, or another one, and then the maker is asked. */
async function takePhoto(given: Uint8Array, name: string, isLatest: () => boolean): Promise<void> {
  try {
    const bytes = await readable(given);
    const key = await keyOf(bytes);
    const size = await openPhoto(key, bytes);
    const { piece: before, photo } = usePieceStore.getState();
    const opened = { key, name, ...size };
    if (!isLatest()) {
      discard({ piece: before, photo: opened });
      return;
    }
    rememberPhoto(key, bytes);
    // Opened again where it was missing, it is no other.
    const isSame = photo ? photo.key === key : before.picture.file === fileOf(opened);
    if (isSame || isBlank({ piece: before, photo })) layPhoto(opened);
    else if (useKeepingStore.getState().forShow) await beginWith(opened);
    else setSession({ otherPhoto: opened });
  } catch (error) {
    complain(name, error instanceof Error ? error.message : String(error));
  }
}

const fileOf = ({ name }: OpenPhoto): string => name.slice(-200);

/** What a piece is called after its photograph: "harbour_at-dusk.jpg" makes "harbour at-dusk". */
export const titleOf = (file: string): string =>
  file
    .replace(/\.[^.]*$/, '')
    .replace(/[_\s]+/g, ' ')
    .trim()
    .slice(0, 200);

/** The piece with another photograph, which is no larger on the slab than the one before, and fits. */
function withPhoto(before: Piece, photo: OpenPhoto): Piece {
  const { slab } = before;
  const blank = before.picture.file === '';
  const picture = {
    ...before.picture,
    file: fileOf(photo),
    crop: blank ? cropFor(slab) : before.picture.crop,
  };
  // Where nothing fits, it stays as large as it was: the maker moves it.
  const fitted = fitPicture(slab, picture, photo) ?? picture;
  const widthMm = blank ? fitted.widthMm : Math.min(picture.widthMm, fitted.widthMm);
  return {
    ...before,
    name: before.name || titleOf(photo.name),
    picture: picture.crop === 'outline' ? fitted : { ...picture, widthMm },
  };
}

/** How a picture is cut that is to fill a slab of this outline. */
export const cropFor = ({ shape }: Slab): PictureSettings['crop'] => (shape === 'rectangle' ? 'rectangle' : 'oval');

/** Lays a photograph on the piece that is open; undo goes back to the one before. */
export function layPhoto(photo: OpenPhoto, tone?: Tone): void {
  const { piece: before, photo: old } = usePieceStore.getState();
  const isSame = old ? old.key === photo.key : before.picture.file === fileOf(photo);
  const { piece, notice } = isSame ? { piece: before, notice: null } : forOtherPhotograph(before);
  if (notice) setProof({ notice });
  const laid = withPhoto(piece, photo);
  usePieceStore.getState().replace({
    piece: tone ? { ...laid, picture: { ...laid.picture, tone } } : laid,
    photo,
  });
}

/** A piece that carries nothing of any other. */
export function newPiece(): Piece {
  const piece = createPiece('', '');
  const coats = paintStack(FIRST_PAINT, piece.machine.source.wavelengthNm);
  return { ...piece, stack: { ...piece.stack, coats } };
}

/** Begins a piece of its own with a photograph that is open, named after it. */
export async function beginWith(photo: OpenPhoto): Promise<void> {
  const begin = () => {
    beginPiece({ piece: withPhoto(newPiece(), photo), photo }, { keeps: 'at once' });
    setSession({ beginning: true });
  };
  if (await leavePiece(begin)) begin();
}

/** Begins a piece that has nothing yet; what is on the table is kept. */
export async function beginBlank(): Promise<void> {
  const isLatest = beginOpening();
  const begin = () => beginPiece({ piece: newPiece(), photo: null }, { keeps: 'once changed' });
  if ((await leavePiece(begin)) && isLatest()) begin();
}

async function takePiece(bytes: Uint8Array, name: string, isLatest: () => boolean): Promise<void> {
  try {
    const state = await openPiece(bytes);
    const begin = () => beginPiece(state, { keeps: 'at once' });
    if (isLatest() && (await leavePiece(begin))) begin();
    else if (!isLatest()) discard(state);
  } catch (error) {
    if (error instanceof PieceError) complain(name, `cannot be opened: ${error.message}`);
    else throw error;
  }
}

/** A piece that names no photograph, or a bare `piece.json`, keeps the one that is open. @throws PieceError. */
async function openPiece(bytes: Uint8Array): Promise<PieceState> {
  const { piece: saved, images } = decodePieceFile(bytes);
  const piece = await withImages(saved, images);
  const held = images.get(piece.picture.file);
  if (!held) {
    if (images.size > 0 && piece.picture.file !== '')
      throw new PieceError([`the picture "${piece.picture.file}" is missing in it`]);
    return { piece, photo: usePieceStore.getState().photo };
  }
  const wrong = (error: Error) => {
    throw new PieceError([`its picture "${piece.picture.file}" ${error.message}`]);
  };
  const image = await readable(held).catch(wrong);
  const key = await keyOf(image);
  const size = await openPhoto(key, image).catch(wrong);
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

/** The demo piece, which is not kept before it is changed. */
export async function openDemo(): Promise<void> {
  const isLatest = beginOpening();
  try {
    const response = await fetch(DEMO, { signal: AbortSignal.timeout(DEMO_WAIT_MS) });
    if (!response.ok) throw new Error(`status ${response.status}`);
    const state = await openPiece(new Uint8Array(await response.arrayBuffer()));
    const begin = () => beginPiece(state, { keeps: 'once changed', forShow: true });
    if (isLatest() && (await leavePiece(begin))) begin();
  } catch (error) {
    setProof({ notice: `The demo piece cannot be loaded (${(error as Error).message}). Open a photograph to begin.` });
  }
}

/** Loaded anew the page comes back to the demo, for as long as nothing of the maker's is kept. */
export async function lookAtDemo(): Promise<void> {
  history.replaceState(null, '', '#demo');
  await openDemo();
}

/** The piece without what was made for the photograph before, and what to say of that; null if nothing was. */
export function forOtherPhotograph(piece: Piece): { piece: Piece; notice: string | null } {
  const { strokes, matte, cut, heals } = piece.picture;
  const masked = strokes.length > 0 || matte !== null || cut !== null || heals.length > 0;
  const placed = piece.passes.some(({ only }) => only !== null);
  const bare: Piece = {
    ...piece,
    picture: masked ? { ...piece.picture, strokes: [], matte: null, cut: null, heals: [] } : piece.picture,
    passes: placed ? piece.passes.map((pass) => ({ ...pass, only: null })) : piece.passes,
  };
  return { piece: bare, notice: noticeOf(masked, placed) };
}

function noticeOf(masked: boolean, placed: boolean): string | null {
  if (masked && placed) {
    return 'Cut, mask and healing, and the places that a pass was kept to, belonged to the photograph before and went with it. Undo brings all of it back.';
  }
  if (masked)
    return 'Cut, mask and healing were made for the photograph before and went with it. Undo brings all of it back.';
  if (placed) {
    return 'The places that a pass was kept to belonged to the photograph before: it burns everywhere now. Undo brings both back.';
  }
  return null;
}
