import { fileName } from '../../base/file-name.ts';
import { breathe } from '../../base/stop.ts';
import { inspectPicture, PAGE_FORMATS } from '../../image/inspect.ts';
import { openArchive } from '../../piece/archive.ts';
import { decodePieceFile } from '../../piece/file.ts';
import { pieceImages, renameImages } from '../../piece/images.ts';
import { keyOf, readable, readFile } from '../files/photo-bytes.ts';
import { createTask } from '../remote/task.ts';
import { wholeKey } from '../store/board-rows.ts';
import { openDatabase } from '../store/database.ts';
import { storageFault } from '../store/keeping.ts';
import { joinPiece, keptPieceFile } from '../store/library.ts';
import { boardTask, type Refused, setBoard, trying, useBoardStore } from './board-store.ts';
import { freeName, saveArchive } from './save-archive.ts';

/** Files being packed; the board is worked on meanwhile. */
export const savingTask = createTask();

/** What the board takes in: pieces, and archives of pieces as it saves them. */
export const JOIN_TYPES = ['.foreburn', '.json', '.zip'];

const isArchive = ({ name }: File): boolean => /\.zip$/i.test(name);

interface PieceBytes {
  readonly name: string;
  readonly bytes: () => Promise<Uint8Array>;
}

/** The pieces in what was chosen or dropped, each to be read when it is its turn; what is none is refused. */
async function piecesIn(files: readonly File[], refused: Refused[]): Promise<PieceBytes[]> {
  const found: PieceBytes[] = [];
  for (const file of files) {
    try {
      if (isArchive(file)) {
        const read = async (from: number, to: number) => new Uint8Array(await file.slice(from, to).arrayBuffer());
        const inside = (await openArchive(read, file.size)).filter(({ name }) => /\.foreburn$/i.test(name));
        if (inside.length === 0) throw new Error('holds no pieces');
        found.push(...inside);
      } else if (/\.(foreburn|json)$/i.test(file.name)) {
        found.push({ name: file.name, bytes: () => readFile(file) });
      } else {
        throw new Error('is no piece: open a photograph on the table, then it becomes one');
      }
    } catch (error) {
      refused.push({ name: file.name, reason: (error as Error).message });
    }
  }
  return found;
}

/** Has pieces from files join those that are kept; those that are here already, to the last setting, are left out. */
export function joinFiles(files: readonly File[]): Promise<void> {
  return trying(async () => {
    if (files.length === 0) return;
    setBoard({ said: null, refused: [] });
    const refused: Refused[] = [];
    let joined = 0;
    let known = 0;
    await boardTask.run('Reading the files', async (how) => {
      const here = new Set(useBoardStore.getState().lines?.map(({ row }) => row.whole));
      const pieces = await piecesIn(files, refused);
      for (const [i, { name, bytes }] of pieces.entries()) {
        await breathe(how.signal);
        how.onProgress(i / pieces.length);
        if (pieces.length > 1) how.goOn(`Reading ${i + 1} of ${pieces.length}`);
        try {
          if (await join(await bytes(), here)) joined++;
          else known++;
        } catch (error) {
          const { name: kind, message } = error as Error;
          if (kind === 'QuotaExceededError') throw new Error(storageFault(error as Error));
          refused.push({ name, reason: message });
        }
      }
    });
    const parts = [
      joined > 0 && `${joined === 1 ? 'One piece has' : `${joined} pieces have`} joined`,
      known > 0 && `${known === 1 ? 'one was' : `${known} were`} here already`,
    ].filter((part) => part !== false);
    const said = parts.join('; ');
    setBoard({ refused, said: said === '' ? null : `${said.charAt(0).toUpperCase()}${said.slice(1)}.` });
  });
}

/** Turned by a quarter, a photograph is as wide as it was high. */
const TURNED = 5;

/** @returns false where it is here already. @throws Error that reads on from the file's name. */
async function join(bytes: Uint8Array, here: Set<string>): Promise<boolean> {
  const { piece: saved, images: held } = decodePieceFile(bytes);
  const images = new Map<string, Uint8Array>();
  const names = new Map<string, string>();
  for (const name of pieceImages(saved)) {
    const image = held.get(name);
    if (!image) continue;
    const kept = `image-${await keyOf(image)}.jpg`;
    names.set(name, kept);
    images.set(kept, image);
  }
  const piece = renameImages(saved, (name) => names.get(name) ?? null);
  const { file } = piece.picture;
  const given = held.get(file);
  if (!given && file !== '' && held.size > 0) throw new Error(`its picture “${file}” is missing in it`);
  let photo = null;
  if (given) {
    const image = await readable(given);
    const key = await keyOf(image);
    const { width, height, orientation } = inspectPicture(image, PAGE_FORMATS);
    const size = orientation >= TURNED ? { width: height, height: width } : { width, height };
    photo = { key, name: file, ...size };
    images.set(key, image);
  }
  const whole = wholeKey(piece, photo?.key ?? null);
  if (here.has(whole)) return false;
  await joinPiece(await openDatabase(), { piece, photo }, images);
  here.add(whole);
  return true;
}

/** Saves pieces as one archive of piece files. */
export async function savePieces(ids: readonly string[]): Promise<void> {
  await saveArchive('pieces.zip', savingTask, 'Saving the pieces', async ({ onProgress }, add) => {
    const database = await openDatabase();
    const names = new Set<string>();
    for (const [i, id] of ids.entries()) {
      onProgress(i / ids.length);
      const { title, bytes } = await keptPieceFile(database, id);
      await add(`${freeName(fileName(title), names)}.foreburn`, bytes, 'as it is');
    }
  });
}
