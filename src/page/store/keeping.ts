import { create } from 'zustand';
import { fileName } from '../../base/file-name.ts';
import { encodePieceFile } from '../../piece/file.ts';
import { pieceImages } from '../../piece/images.ts';
import { forget, forgetPhoto } from '../burn/proof-remote.ts';
import { type Offer, setProof, useProofStore } from '../burn/proof-store.ts';
import { inBackground } from '../faults/lazy-part.tsx';
import { dropUnused, keepOnly, photoBytes } from '../files/photo-bytes.ts';
import { freshId, saveFile } from '../files/save-file.ts';
import { closeDatabase, openDatabase, openedDatabase } from './database.ts';
import { endStep, isBlank, type PieceState, setSession, usePieceStore } from './piece-store.ts';
import { createPieceWriter, NOTHING_HELD, type PieceWriter, type Work, wantedImages } from './piece-writer.ts';

interface Rhythm {
  /** Rest after a change before it is written, and the longest that a change waits while others follow, ms. */
  readonly quietMs: number;
  readonly mostMs: number;
  /** Waits before a write that failed is tried again; the last one repeats. */
  readonly retryMs: readonly number[];
}

const RHYTHM: Rhythm = { quietMs: 400, mostMs: 2000, retryMs: [3000, 10_000, 30_000] };

interface Coalescer {
  /** Something changed: it is written in a while. Does no work itself. */
  touch(): void;
  /** Writes at once what waits. Rejects if it cannot be written. */
  flush(): Promise<void>;
  /** Whether something waits to be written. */
  waits(): boolean;
  /** Forgets what waits: it belongs to something that is not open any more. */
  drop(): void;
}

/**
 * Turns many changes into few writes, and tries again by itself what could not be written.
 * @param write begins to write before it returns, so that it works while the page is being left.
 */
export function createCoalescer(write: () => Promise<void>, { quietMs, mostMs, retryMs }: Rhythm = RHYTHM): Coalescer {
  let changes = 0;
  let written = 0;
  let failures = 0;
  let firstAt = 0;
  let timer: ReturnType<typeof setTimeout> | undefined;

  const waits = () => written < changes;
  const after = (ms: number) => {
    clearTimeout(timer);
    timer = setTimeout(() => run().catch(() => {}), ms);
  };

  async function run(): Promise<void> {
    clearTimeout(timer);
    if (!waits()) return;
    const upTo = changes;
    firstAt = 0;
    try {
      await write();
      written = Math.max(written, upTo);
      failures = 0;
    } catch (error) {
      // What was forgotten meanwhile is not tried again.
      if (written < upTo) {
        after(retryMs[Math.min(failures, retryMs.length - 1)]);
        failures++;
      }
      throw error;
    }
  }

  return {
    touch() {
      changes++;
      if (failures > 0) return;
      const now = Date.now();
      if (firstAt === 0) firstAt = now;
      after(Math.min(quietMs, Math.max(0, firstAt + mostMs - now)));
    },
    flush: run,
    waits,
    drop() {
      written = changes;
      failures = 0;
      firstAt = 0;
      clearTimeout(timer);
    },
  };
}

/** Keeps the piece that is open in the browser while it changes. */

interface OpenWork {
  readonly writer: PieceWriter;
  /** Lets other tabs have it. */
  readonly letGo: () => void;
}

let open: OpenWork | null = null;

/** What was there when the page last looked: anything else is a change. */
let seen: Pick<Work, 'state' | 'pins'> | null = null;

/** What the maker has last saved as a file. */
let filed: PieceState | null = null;

let complained = false;

const coalescer = createCoalescer(write);

const stateNow = (): PieceState => {
  const { piece, photo } = usePieceStore.getState();
  return { piece, photo };
};

const same = (a: PieceState | null | undefined, b: PieceState): boolean => a?.piece === b.piece && a.photo === b.photo;

function workNow(): Work {
  const { pastStates, futureStates } = usePieceStore.temporal.getState();
  return {
    state: stateNow(),
    past: pastStates as PieceState[],
    future: futureStates as PieceState[],
    pins: useProofStore.getState().pins,
  };
}

/** From now on changes are kept: soon after they were made, and at once when the page is left. */
export function startKeeping(): void {
  usePieceStore.subscribe(look);
  useProofStore.subscribe(look);
  const leave = () => {
    coalescer.flush().catch(() => {});
  };
  document.addEventListener('visibilitychange', () => document.visibilityState === 'hidden' && leave());
  addEventListener('pagehide', leave);
  addEventListener('beforeunload', (event) => {
    if (useKeepingStore.getState().fault !== null && !same(filed, stateNow())) event.preventDefault();
  });
}

function look(): void {
  const { pins } = useProofStore.getState();
  const state = stateNow();
  if (!seen || (same(seen.state, state) && seen.pins === pins)) return;
  seen = { state, pins };
  if (useKeepingStore.getState().forShow) setKeeping({ forShow: false });
  coalescer.touch();
}

/** Puts a piece on the table in place of the one that is there, which must have been left (`leavePiece`). */
export function placePiece(work: Work, opened: OpenWork): void {
  open?.letGo();
  open = opened;
  coalescer.drop();
  complained = false;
  setKeeping({ id: opened.writer.id, fault: null, forShow: false });
  seen = null;
  const { pins } = useProofStore.getState();
  const history = usePieceStore.temporal;
  history.getState().pause();
  usePieceStore.setState(work.state);
  history.getState().resume();
  history.setState({ pastStates: [...work.past], futureStates: [...work.future] });
  endStep();
  setProof({ pins: work.pins, picked: [] });
  setSession({ beginning: isBlank(work.state), otherPhoto: null });
  const current = useProofStore.getState().current?.id;
  for (const { record } of pins) if (record.id !== current) forget(record.id);
  seen = { state: work.state, pins: work.pins };
  releaseImages();
}

interface Beginning {
  /** The browser keeps it at once, or only once it is changed. */
  readonly keeps: 'at once' | 'once changed';
  /** The demo: a photograph of the maker's own begins a piece of its own rather than change it. */
  readonly forShow?: boolean;
}

/** A piece of its own. */
export function beginPiece(state: PieceState, { keeps, forShow = false }: Beginning): void {
  placePiece({ state, past: [], future: [], pins: [] }, newWork());
  if (keeps === 'at once') coalescer.touch();
  setKeeping({ forShow });
}

function newWork(): OpenWork {
  const writer = createPieceWriter(freshId('piece'), NOTHING_HELD);
  const held = holdPiece(writer.id);
  return { writer, letGo: () => inBackground(held.then((release) => release?.())) };
}

/** Begins at once if the storage is open. */
function write(): Promise<void> {
  if (!open) return Promise.resolve();
  const { writer } = open;
  const work = workNow();
  const database = openedDatabase();
  const writing = database ? writer.write(database, work) : openDatabase().then((now) => writer.write(now, work));
  return writing.then(
    () => {
      if (open?.writer !== writer) return;
      complained = false;
      setKeeping({ fault: null });
      rememberTab(writer.id);
      releaseImages();
      askToPersist();
    },
    (error: Error) => {
      releaseImages();
      if (open?.writer !== writer) return;
      if (error.name === 'ConstraintError') return becomeCopy();
      if (error.name === 'InvalidStateError') closeDatabase();
      complain(error);
      throw error;
    },
  );
}

/** Another tab has taken the piece: what is here goes on beside it. */
function becomeCopy(): Promise<void> {
  open?.letGo();
  open = newWork();
  setKeeping({ id: open.writer.id });
  setProof({
    notice: `“${stateNow().piece.name}” was taken over by another tab; what you have here is kept as a piece of its own.`,
  });
  return write();
}

const SAVE_OFFER: Offer = { label: 'Save it as a file', onPress: savePieceFile };

/** Why the storage did not take something, or could not be opened. */
export function storageFault({ name, message }: Error): string {
  if (name === 'QuotaExceededError') return 'this browser has no room left';
  if (name === 'VersionError') return 'a newer Foreburn keeps its pieces here; load the page again';
  return `this browser’s storage does not work (${message})`;
}

/** Says once that nothing is kept; the mark beside the name stays until it is. */
function complain(error: Error): void {
  const fault = storageFault(error);
  setKeeping({ fault });
  if (complained) return;
  complained = true;
  const text = `The latest changes are not kept: ${fault}. It is tried again by itself; until then only a file is safe.`;
  setProof({ notice: { text, offers: [SAVE_OFFER] } });
}

/** The piece that is open with its photograph and images, as a file. */
export function savePieceFile(): void {
  const state = stateNow();
  saveFile(`${fileName(state.piece.name)}.foreburn`, pieceFileBytes(state), 'application/zip');
  filed = state;
}

/** Writes what is not written yet. */
export const flushPiece = (): Promise<void> => coalescer.flush();

/**
 * Sees to it that the piece that is open is kept before another takes its place.
 * @param goOn opens the other, should the maker want it all the same.
 * @returns whether it may go on at once.
 */
export async function leavePiece(goOn: () => void): Promise<boolean> {
  try {
    // What is changed while it is written is written too.
    do await coalescer.flush();
    while (coalescer.waits());
    return true;
  } catch {
    const state = stateNow();
    if (same(filed, state)) return true;
    const text = `“${state.piece.name}” is not kept in this browser yet. Save it as a file before another takes its place.`;
    const anyway = {
      label: 'Open the other without saving',
      onPress: () => {
        filed = stateNow();
        goOn();
      },
    };
    setProof({ notice: { text, offers: [SAVE_OFFER, anyway] } });
    return false;
  }
}

/** Lets go of photographs and images, here and in the worker, that neither the piece, its undo, its pins nor the proof shown wants. */
function releaseImages(): void {
  const wanted = new Set(wantedImages(workNow()));
  const { current } = useProofStore.getState();
  if (current) wanted.add(current.photoKey);
  for (const name of keepOnly(wanted)) forgetPhoto(name);
}

/** Lets go of what was opened for a piece that did not come on the table, because something else was opened meanwhile. */
export function discard({ piece, photo }: PieceState): void {
  const wanted = wantedImages(workNow());
  for (const name of [...(photo ? [photo.key] : []), ...pieceImages(piece)]) {
    if (!wanted.has(name) && dropUnused(name)) forgetPhoto(name);
  }
}

let asked = false;

/** Once something of the maker's is there, the browser is asked not to clear it when room gets short. */
function askToPersist(): void {
  if (!asked) navigator.storage?.persist?.().catch(() => false);
  asked = true;
}

/** A piece with its photograph and its images as the bytes of a piece file. */
function pieceFileBytes({ piece, photo }: PieceState): Uint8Array {
  const images = new Map<string, Uint8Array>();
  const add = (name: string, bytes: Uint8Array | undefined | null) => {
    if (bytes) images.set(name, bytes);
  };
  add(piece.picture.file, photo && photoBytes(photo.key));
  for (const name of pieceImages(piece)) add(name, photoBytes(name));
  return encodePieceFile({ piece, images });
}

interface KeepingState {
  /** Id of the piece that is open. */
  readonly id: string;
  /** Why the latest changes are not kept in this browser; null while all is well. */
  readonly fault: string | null;
  /** It is the demo, and nothing of it has been changed. */
  readonly forShow: boolean;
}

export const useKeepingStore = create<KeepingState>()(() => ({ id: '', fault: null, forShow: false }));

const setKeeping = useKeepingStore.setState;

const nameOf = (id: string): string => `foreburn-piece-${id}`;

/** Time that a page just left may take to let go of its piece. */
const PATIENCE_MS = 1000;

/**
 * Takes a piece for this tab, until it lets go or is closed. Where the browser has no Web Locks every tab gets it; then the storage
 * refuses the tab that was first (`database.ts`).
 * @returns what lets go of it; null if another tab has it.
 */
export async function holdPiece(id: string): Promise<(() => void) | null> {
  if (!navigator.locks) return () => {};
  const signal = AbortSignal.timeout(PATIENCE_MS);
  return new Promise((resolve) => {
    const hold = () => new Promise<void>((release) => resolve(release));
    navigator.locks.request(nameOf(id), { signal }, hold).catch(() => resolve(null));
  });
}

/** Ids of the pieces that are open in some tab, of those given. */
export async function heldPieces(ids: readonly string[]): Promise<ReadonlySet<string>> {
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  const names = new Set(held.map(({ name }) => name));
  return new Set(ids.filter((id) => names.has(nameOf(id))));
}

const KEY = 'foreburn-tab';

/** The piece that this tab shows, for when it is loaded anew. A browser that keeps nothing is no fault. */
function rememberTab(id: string): void {
  try {
    sessionStorage.setItem(KEY, id);
  } catch {}
}

export function tabPiece(): string | null {
  try {
    return sessionStorage.getItem(KEY);
  } catch {
    return null;
  }
}
