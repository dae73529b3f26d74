import { create } from 'zustand';
import { fileName } from '../../base/file-name.ts';
import { RemoteLost } from '../../base/remote/remote.ts';
import { breathe, Cancelled } from '../../base/stop.ts';
import * as z from '../../base/zod.ts';
import { sumQuote } from '../../outputs/paper/quote-paper.ts';
import { machineFileEnding, machineFiles } from '../../outputs/program/machine-file.ts';
import type { Piece } from '../../piece/schema.ts';
import { EVEN_WISHES } from '../../studies/choose/odds.ts';
import { obstacleWords, withSettings } from '../../studies/choose/settings.ts';
import { ask, forget, forgetPhoto, openPhoto } from '../burn/proof-remote.ts';
import type { ProofResult, Questions } from '../burn/worker/questions.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { freshId } from '../files/save-file.ts';
import { makeBenchSheet, makeQuote, pdfOf } from '../outputs/make-papers.ts';
import { createTask, faultOf, type TaskHow } from '../remote/task.ts';
import { burnsKey, keepProof, proofKept } from '../store/board-rows.ts';
import { type Database, DURABLE, openDatabase } from '../store/database.ts';
import { flushPiece, storageFault } from '../store/keeping.ts';
import { keptPhoto, keptState } from '../store/library.ts';
import type { OpenPhoto } from '../store/piece-store.ts';
import { glance } from '../store/records.ts';
import { type Edited, editOne, type Refused, readBoard, remember, takeBack } from './board-store.ts';
import { smallPicture } from './keep-proofs.ts';
import { freeName, saveArchive } from './save-archive.ts';

/** What can be done with many pieces, in the order in which it is done with each. */
export const TASKS = ['settings', 'proof', 'files', 'sheet', 'quote'] as const;

export type BatchTask = (typeof TASKS)[number];

const RUN_FORMAT = 1;

const runSchema = z.object({
  format: z.literal(RUN_FORMAT),
  tasks: z.array(z.enum(TASKS)),
  ids: z.array(z.string()),
  /** Pieces that are through; what could not be done with one is a sentence, else null. */
  done: z.record(z.string(), z.nullable(z.string())),
  /** The pieces were renewed by an entry of the shelf; the share of likely cases in which each came out before, null where it was not known. */
  renewed: z.optional(z.object({ by: z.string(), before: z.record(z.string(), z.nullable(z.number())) })),
});

/** A run over many pieces, as it is kept: what is done stays done, whatever becomes of the page. */
export type Run = z.infer<typeof runSchema>;

interface BatchState {
  readonly run: Run | null;
  /** How many files have been made and wait to be saved. */
  readonly files: number;
  /** It goes on in another tab. */
  readonly elsewhere: boolean;
}

export const useBatchStore = create<BatchState>()(() => ({ run: null, files: 0, elsewhere: false }));

const setBatch = useBatchStore.setState;

/** The run, as it is shown and stopped; and the files that it made being saved. */
export const batchTask = createTask();

export const isOver = ({ ids, done }: Run): boolean => ids.every((id) => id in done);

/** What could not be done, by the piece's name. */
export const failuresOf = ({ done }: Run, titleOf: (id: string) => string): Refused[] =>
  Object.entries(done).flatMap(([id, reason]) => (reason === null ? [] : [{ name: titleOf(id), reason }]));

const RUN = 'batch';

const LOCK = 'foreburn-batch';

/** Shows the run that was under way last, if there is one. */
export async function readBatch(): Promise<void> {
  if (batchTask.state().busy !== null) return;
  const database = await openDatabase();
  const run = runSchema.safeParse(await database.get('page', RUN)).data ?? null;
  const { held = [] } = (await navigator.locks?.query()) ?? {};
  setBatch({
    run,
    files: (await database.getAllKeys('results')).length,
    elsewhere: held.some(({ name }) => name === LOCK),
  });
}

async function keepRun(database: Database, run: Run | null): Promise<void> {
  const transaction = database.transaction('page', 'readwrite', DURABLE);
  await (run ? transaction.store.put(run, RUN) : transaction.store.delete(RUN));
  await transaction.done;
  setBatch({ run });
}

/** Begins a run; what an earlier one made and nobody saved is let go of. */
export async function beginBatch(
  ids: readonly string[],
  tasks: readonly BatchTask[],
  renewed?: Run['renewed'],
): Promise<void> {
  const database = await openDatabase();
  await database.clear('results');
  setBatch({ files: 0 });
  await keepRun(database, { format: RUN_FORMAT, tasks: [...tasks], ids: [...ids], done: {}, renewed });
  await goOnWithBatch();
}

/** Does once more what could not be done. */
export async function repeatFailures(): Promise<void> {
  const { run } = useBatchStore.getState();
  if (!run) return;
  const done = Object.fromEntries(Object.entries(run.done).filter(([, reason]) => reason === null));
  await keepRun(await openDatabase(), { ...run, done });
  await goOnWithBatch();
}

/** Forgets the run, with the files that it made. */
export async function dismissBatch(): Promise<void> {
  const database = await openDatabase();
  await database.clear('results');
  await keepRun(database, null);
  batchTask.tell({ fault: null, said: null });
  setBatch({ files: 0 });
}

/** Only one tab works on it at a time. @returns null if another one does. */
async function alone<Value>(work: () => Promise<Value>): Promise<Value | null> {
  if (!navigator.locks) return work();
  return navigator.locks.request(LOCK, { ifAvailable: true }, async (lock) => (lock ? work() : null));
}

/** Goes on with the run where it stopped: one piece at a time, so that memory never holds more than one. */
export async function goOnWithBatch(): Promise<void> {
  await flushPiece().catch(() => {});
  const database = await openDatabase();
  await batchTask.run('Beginning', (how) =>
    alone(async () => {
      const run = runSchema.safeParse(await database.get('page', RUN)).data;
      if (run) await workThrough(database, run, how);
    }),
  );
  await readBatch();
  await readBoard();
}

async function workThrough(database: Database, begun: Run, how: TaskHow): Promise<void> {
  let run = begun;
  const edited: Edited[] = [];
  try {
    for (const [i, id] of run.ids.entries()) {
      if (id in run.done) continue;
      await breathe(how.signal);
      const { title } = glance(await database.getFromIndex('pieces', 'id', id));
      const part: TaskHow = {
        signal: how.signal,
        onProgress: (share) => how.onProgress((i + share) / run.ids.length),
        goOn: (words) => how.goOn(`“${title}”, ${i + 1} of ${run.ids.length}: ${words}`),
      };
      const reason = await faultIn(() => workOn(database, id, run.tasks, part, edited));
      run = { ...run, done: { ...run.done, [id]: reason } };
      await keepRun(database, run);
      setBatch({ files: (await database.getAllKeys('results')).length });
      await readBoard();
    }
  } finally {
    if (edited.length > 0) {
      remember({
        words: 'Settings found',
        undo: async () => {
          for (const one of edited) await takeBack(one).catch(() => {});
        },
      });
    }
  }
}

/** Why something could not be done, as a sentence; null if it could. A worker that was lost gets a second chance. @throws Cancelled, and where nothing can be kept. */
async function faultIn(work: () => Promise<void>, again = true): Promise<string | null> {
  try {
    await work();
    return null;
  } catch (error) {
    if (error instanceof Cancelled) throw error;
    if (error instanceof RemoteLost && again) return faultIn(work, false);
    if ((error as Error).name === 'QuotaExceededError') throw new Error(storageFault(error as Error));
    return faultOf(error);
  }
}

interface Work {
  readonly database: Database;
  readonly id: string;
  readonly piece: Piece;
  readonly photo: OpenPhoto;
  readonly how: TaskHow;
}

/** @throws Error with the reason. */
async function workOn(
  database: Database,
  id: string,
  tasks: readonly BatchTask[],
  how: TaskHow,
  edited: Edited[],
): Promise<void> {
  how.goOn('opening it');
  const state = await keptState(database, id);
  if (!state) throw new Error('it is not kept any more');
  const { photo } = state;
  if (!photo) throw new Error('it has no photograph: open it and give it one');
  const own = photoBytes(photo.key) === undefined;
  const bytes = photoBytes(photo.key) ?? (await keptPhoto(database, photo.key));
  if (!bytes)
    throw new Error(`its photograph ${photo.name} is missing in this browser: open it and give it that file again`);
  await openPhoto(photo.key, bytes).catch((error: Error) => {
    throw error instanceof RemoteLost ? error : new Error(`its photograph ${photo.name} ${error.message}`);
  });
  const proofId = freshId('kept');
  try {
    let { piece } = state;
    const work = (): Work => ({ database, id, piece, photo, how });
    if (tasks.includes('settings')) {
      const one = await editOne(id, await findSettings(work()));
      if (one) edited.push(one);
      piece = one?.after ?? piece;
    }
    const papers = tasks.includes('sheet') || tasks.includes('quote');
    const proof = papers || tasks.includes('proof') ? await prove(work(), proofId, papers) : null;
    if (tasks.includes('files')) await writeFiles(work());
    if (tasks.includes('sheet') && proof) {
      how.goOn('bench sheet');
      await keepResult(work(), 'bench-sheet.pdf', await pdfOf(await makeBenchSheet({ piece, photo }, proof)));
    }
    if (tasks.includes('quote')) {
      how.goOn('quote');
      const seconds = await ask('option-seconds', { piece, photoKey: photo.key }, { signal: how.signal });
      const sums = piece.quote.options.map((option, i) => sumQuote(piece, option, seconds[i] ?? 0));
      await keepResult(work(), 'quote.pdf', await pdfOf(await makeQuote({ piece, photo }, sums, proofId)));
    }
  } finally {
    forget(proofId);
    // What the piece on the table has stays open.
    if (own && photoBytes(photo.key) === undefined) forgetPhoto(photo.key);
  }
}

/** What sets the best settings on a piece. */
async function findSettings({ piece, photo, how }: Work): Promise<(piece: Piece) => Piece> {
  how.goOn('finding settings');
  const { suggestions, obstacle } = await ask(
    'choose',
    { piece, photoKey: photo.key, wishes: EVEN_WISHES },
    { signal: how.signal, onProgress: (share) => how.onProgress(0.5 * share) },
  );
  const best = suggestions.find(({ role }) => role === 'best') ?? suggestions[0];
  if (!best) throw new Error(`no settings work. ${obstacle ? obstacleWords(obstacle, piece) : ''}`.trim());
  return (now) => withSettings(now, best.pass, best.curve);
}

interface Proved {
  readonly id: string;
  readonly result: ProofResult;
  readonly sure: Questions['repeat']['gets']['sure'];
}

/** Proofs a piece and keeps what that told with it; one that holds still is not made again unless its picture is wanted. */
async function prove(
  { database, id, piece, photo, how }: Work,
  proofId: string,
  wanted: boolean,
): Promise<Proved | null> {
  const burns = burnsKey(piece, photo.key);
  if (!wanted && (await proofKept(database, id))?.burns === burns) return null;
  how.goOn('proof');
  const { result, sure, diagnosis, coarse } = await ask(
    'repeat',
    { id: proofId, piece, photoKey: photo.key, bare: true },
    { signal: how.signal, onProgress: (share) => how.onProgress(0.5 + 0.3 * share) },
  );
  const foretold = {
    passSeconds: result.passes.map(({ timeS }) => timeS),
    verdict: diagnosis.verdict,
    accepted: sure.accepted,
  };
  await keepProof(database, { id, burns, foretold, thumbnail: smallPicture(coarse) });
  return { id: proofId, result, sure };
}

/** All programs of a piece, each read back by whoever writes it. */
async function writeFiles(work: Work): Promise<void> {
  const { piece, photo, how } = work;
  for (const file of machineFiles(piece, 'dots-1', false)) {
    if (file.kind === 'picture') continue;
    const ending = machineFileEnding(file);
    how.goOn(ending);
    const made = await ask('machine-file', { piece, photoKey: photo.key, file, handle: null }, { signal: how.signal });
    if ('refusals' in made) throw new Error(`no program can be made: ${made.refusals[0].message}`);
    if (made.blob) await keepResult(work, ending, made.blob);
  }
}

const resultSchema = z.object({ of: z.string(), name: z.string(), title: z.string(), bytes: z.instanceof(Blob) });

async function keepResult({ database, id, piece }: Work, ending: string, bytes: Blob | Uint8Array): Promise<void> {
  const blob = bytes instanceof Blob ? bytes : new Blob([bytes as BlobPart]);
  const transaction = database.transaction('results', 'readwrite', DURABLE);
  const asked = transaction.store.put({ of: id, name: ending, title: fileName(piece.name), bytes: blob });
  await Promise.all([asked, transaction.done]);
}

/** Saves all that a run has made as one archive, a folder a piece. */
export async function saveResults(): Promise<void> {
  await saveArchive('workshop.zip', batchTask, 'Packing the files', async ({ onProgress }, add) => {
    const database = await openDatabase();
    const keys = await database.getAllKeys('results');
    const folders = new Map<string, string>();
    const taken = new Set<string>();
    for (const [i, key] of keys.entries()) {
      onProgress(i / keys.length);
      const parsed = resultSchema.safeParse(await database.get('results', key));
      if (!parsed.success) continue;
      const { of, name, title, bytes } = parsed.data;
      if (!folders.has(of)) folders.set(of, freeName(title, taken));
      const folder = folders.get(of);
      await add(`${folder}/${folder}-${name}`, bytes);
    }
  });
}
