import { create } from 'zustand';
import { breathe, Cancelled } from '../../base/stop.ts';
import { orderedJson } from '../../base/sum-of.ts';
import type { Piece } from '../../piece/schema.ts';
import { type BoardLine, type BoardView, DEFAULT_VIEW } from '../../shop/board.ts';
import { burnMinutesOf } from '../../shop/summary.ts';
import type { ShelfEntry } from '../../studies/calibrate/shelf/shelf.ts';
import { createTask } from '../remote/task.ts';
import { type Listed, listPieces, listProofs, type ProofRow } from '../store/board-rows.ts';
import { openDatabase } from '../store/database.ts';
import { flushPiece, heldPieces, storageFault, useKeepingStore } from '../store/keeping.ts';
import { copyPiece, editKept, keptState, listLeftovers, removePiece, restorePiece } from '../store/library.ts';
import { type OpenPhoto, usePieceStore } from '../store/piece-store.ts';
import type { Leftover } from '../store/records.ts';
import { openShelf } from '../store/shelf.ts';

/** A piece on the board. */
export interface Line extends BoardLine {
  readonly row: Listed;
  /** What was computed of it last; null where nothing was. */
  readonly proof: ProofRow | null;
  /** It burns otherwise than when that was computed. */
  readonly isStale: boolean;
}

/** Something that can be taken back. */
interface Step {
  /** As in “Undo: …”. */
  readonly words: string;
  readonly undo: () => Promise<void>;
}

/** What could not be done, by name. */
export interface Refused {
  readonly name: string;
  readonly reason: string;
}

/** What the board is looked at as. */
export type Look = 'pieces' | 'plan' | 'bed' | 'prices';

interface BoardState {
  readonly look: Look;
  /** Null until they have been read. */
  readonly lines: readonly Line[] | null;
  /** Calibrated paints and machines, which pieces refer to. */
  readonly shelf: readonly ShelfEntry[];
  readonly leftovers: readonly Leftover[];
  /** Ids of those that are open in some tab. */
  readonly held: ReadonlySet<string>;
  readonly view: BoardView;
  readonly chosen: ReadonlySet<string>;
  /** The piece whose name is being changed. */
  readonly naming: string | null;
  readonly steps: readonly Step[];
  readonly said: string | null;
  readonly fault: string | null;
  readonly refused: readonly Refused[];
}

/** The board as it was shown last: what can be taken back outlasts it. */
export const useBoardStore = create<BoardState>()(() => ({
  look: 'pieces',
  lines: null,
  shelf: [],
  leftovers: [],
  held: new Set(),
  view: DEFAULT_VIEW,
  chosen: new Set(),
  naming: null,
  steps: [],
  said: null,
  fault: null,
  refused: [],
}));

export const setBoard = useBoardStore.setState;

/** What takes longer on the board, one thing at a time. */
export const boardTask = createTask();

const MOST_STEPS = 50;

export const remember = (step: Step): void =>
  setBoard(({ steps }) => ({ steps: [...steps.slice(1 - MOST_STEPS), step] }));

function lineOf(row: Listed, proof: ProofRow | null): Line {
  const isStale = proof !== null && proof.burns !== row.burns;
  const told = proof && {
    burnMinutes: burnMinutesOf(proof.foretold),
    verdict: proof.foretold.verdict,
    accepted: proof.foretold.accepted,
  };
  return {
    id: row.id,
    title: row.title,
    photoName: row.photo?.name ?? null,
    changedAt: row.changedAt,
    summary: row.summary && { ...row.summary, ...told },
    row,
    proof,
    isStale,
  };
}

const sameLine = (a: Line | undefined, row: Listed, proof: ProofRow | null): a is Line =>
  a !== undefined &&
  a.row.whole === row.whole &&
  a.row.whole !== '' &&
  a.changedAt === row.changedAt &&
  a.proof?.burns === proof?.burns &&
  a.proof?.thumbnail === proof?.thumbnail;

/** Shows the kept pieces as they are now. Lines that are as they were stay the same things. */
export async function readBoard(): Promise<void> {
  const database = await openDatabase();
  const rows = await listPieces(database);
  const ids = new Set(rows.map(({ id }) => id));
  const proofs = await listProofs(database, ids, useKeepingStore.getState().id);
  const before = new Map(useBoardStore.getState().lines?.map((line) => [line.id, line]));
  const lines = rows.map((row) => {
    const proof = proofs.get(row.id) ?? null;
    const old = before.get(row.id);
    return sameLine(old, row, proof) ? old : lineOf(row, proof);
  });
  const held = await heldPieces([...ids]);
  const leftovers = await listLeftovers(database);
  // The calibrate sheet tells what is wrong with it.
  const { entries: shelf } = await openShelf().catch(() => ({ entries: [] }));
  setBoard(({ chosen }) => ({
    lines,
    held,
    shelf,
    leftovers,
    chosen: new Set([...chosen].filter((id) => ids.has(id))),
  }));
}

/** One thing after the other: a change that follows on another must not find the piece as it was before. */
let queue: Promise<unknown> = Promise.resolve();

/** Does something with the kept pieces, once what was asked for before is done, and shows them as they are then. */
export function trying(work: () => Promise<void>): Promise<void> {
  const turn = queue.then(() => tryOnce(work));
  queue = turn;
  return turn;
}

async function tryOnce(work: () => Promise<void>): Promise<void> {
  try {
    setBoard({ fault: null });
    await work();
    await readBoard();
  } catch (error) {
    if (error instanceof Cancelled) return;
    setBoard(({ lines }) => ({ lines: lines ?? [], fault: storageFault(error as Error) }));
  }
}

const isOnTable = (id: string): boolean => id === useKeepingStore.getState().id;

const titleOf = (id: string): string => useBoardStore.getState().lines?.find((line) => line.id === id)?.title ?? 'It';

export interface Edited {
  readonly id: string;
  readonly before: Piece;
  readonly after: Piece;
}

const ELSEWHERE = 'is open in another tab: change it there';

/** Changes one piece. @throws Error that reads on from its name. */
export async function editOne(id: string, edit: (piece: Piece) => Piece): Promise<Edited | null> {
  if (isOnTable(id)) {
    const before = usePieceStore.getState().piece;
    const after = edit(before);
    usePieceStore.getState().change(() => after);
    await flushPiece();
    return { id, before, after };
  }
  if ((await heldPieces([id])).has(id)) throw new Error(ELSEWHERE);
  let after: Piece | null = null;
  const before = await editKept(await openDatabase(), id, (piece) => {
    after = edit(piece);
    return after;
  });
  return before && after ? { id, before, after } : null;
}

const isSame = (a: Piece, b: Piece): boolean => orderedJson(a) === orderedJson(b);

/** Takes a change back, unless the piece has been changed since. @throws Error that reads on from its name. */
export const takeBack = ({ id, before, after }: Edited): Promise<Edited | null> =>
  editOne(id, (now) => {
    if (!isSame(now, after)) throw new Error('has been changed since and stays as it is');
    return before;
  });

/** Does the same with each of several pieces; what fails is told by name and stops nothing. */
async function withEach(words: string, ids: readonly string[], work: (id: string) => Promise<void>): Promise<void> {
  const refused: Refused[] = [];
  await boardTask.run(words, async ({ signal, onProgress }) => {
    for (const [i, id] of ids.entries()) {
      await breathe(signal);
      onProgress(i / ids.length);
      try {
        await work(id);
      } catch (error) {
        if (['QuotaExceededError', 'InvalidStateError'].includes((error as Error).name)) throw error;
        refused.push({ name: titleOf(id), reason: (error as Error).message });
      }
    }
  });
  setBoard({ refused });
}

/** Changes pieces, one step of undo. @param words what it is, as in “Due date of Quay” */
export function editPieces(words: string, ids: readonly string[], edit: (piece: Piece) => Piece): Promise<void> {
  return trying(async () => {
    const edited: Edited[] = [];
    await withEach('Changing', ids, async (id) => {
      const one = await editOne(id, edit);
      if (one && !isSame(one.before, one.after)) edited.push(one);
    });
    if (edited.length === 0) return;
    remember({
      words,
      undo: () =>
        withEach(
          'Taking back',
          edited.map(({ id }) => id),
          async (id) => {
            await takeBack(edited.find((one) => one.id === id)!);
          },
        ),
    });
  });
}

/** Takes the last step back. */
export function undoStep(): Promise<void> {
  return trying(async () => {
    const { steps } = useBoardStore.getState();
    const last = steps.at(-1);
    if (!last) return;
    setBoard({ steps: steps.slice(0, -1), said: null });
    await last.undo();
  });
}

export const copyListed = (id: string): Promise<void> =>
  trying(async () => {
    await flushPiece().catch(() => {});
    await copyPiece(await openDatabase(), id);
  });

/** Bins pieces; those that are open somewhere stay. */
export function binPieces(ids: readonly string[]): Promise<void> {
  return trying(async () => {
    const database = await openDatabase();
    const gone: NonNullable<Awaited<ReturnType<typeof removePiece>>>[] = [];
    await withEach('Binning', ids, async (id) => {
      if (isOnTable(id)) throw new Error('lies on the table: open another piece first');
      if ((await heldPieces([id])).has(id)) throw new Error('is open in another tab: close that first');
      const removed = await removePiece(database, id);
      if (removed) gone.push(removed);
    });
    if (gone.length === 0) return;
    const what = gone.length === 1 ? `“${gone[0].title}” is` : `${gone.length} pieces are`;
    setBoard({ said: `${what} in the bin until the page is closed.` });
    remember({
      words: gone.length === 1 ? `Bin “${gone[0].title}”` : `Bin ${gone.length} pieces`,
      undo: async () => {
        for (const removed of gone) await restorePiece(await openDatabase(), removed);
      },
    });
  });
}

/** A kept piece with its photograph's name and size. */
export interface Opened {
  readonly id: string;
  readonly piece: Piece;
  readonly photo: OpenPhoto | null;
}

/** Reads kept pieces one after the other; those that are gone or cannot be read are left out: the board names them. @throws Cancelled. */
export async function openPieces(ids: readonly string[], signal: AbortSignal): Promise<Opened[]> {
  const database = await openDatabase();
  const opened: Opened[] = [];
  for (const id of ids) {
    await breathe(signal);
    const state = await keptState(database, id).catch(() => null);
    if (state) opened.push({ id, ...state });
  }
  return opened;
}

/** Pieces that are still to be burned: those that are chosen, or all. */
export const waitingOf = (lines: readonly Line[], chosen: ReadonlySet<string>): Line[] =>
  lines.filter(
    ({ id, summary }) =>
      summary !== null &&
      summary.order.state !== 'burned' &&
      summary.order.state !== 'delivered' &&
      (chosen.size === 0 || chosen.has(id)),
  );
