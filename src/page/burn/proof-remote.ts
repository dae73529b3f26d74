import { type AskOptions, createRemote, type PartOf, RemoteLost } from '../../base/remote/remote.ts';
import { Cancelled } from '../../base/stop.ts';
import type { Piece } from '../../piece/schema.ts';
import type { ProofSurface } from '../../render/slab/surface/gpu-surface.ts';
import type { SurfacePlanes } from '../../render/slab/surface/planes.ts';
import { photoBytes } from '../files/photo-bytes.ts';
import { openWorker } from '../remote/worker-port.ts';
import { editCurrent, freshRecord, isWhole, NOW, type ProofRecord, setProof, useProofStore } from './proof-store.ts';
import type { ProofPart, QuestionName, Questions } from './worker/questions.ts';

/** The page's end of the proof worker: asks for proofs and all else, keeps the proof store up to date. */
const worker = createRemote<Questions>(
  openWorker(
    () => new Worker(new URL('./worker/proof-worker.ts', import.meta.url), { type: 'module' }),
    'computes proofs',
  ),
  recover,
);

type PhotoSize = Questions['photo']['gets'];
/** Photographs that the worker has. */
const photosOpen = new Map<string, Promise<PhotoSize>>();
/** Proofs so far, and how often in a row the worker was lost before one was whole. */
let proofs = 0;
let losses = 0;
/** Ends the newest proof. */
let under = new AbortController();
const orderedAt = new Map<string, number>();
/** The full proof that is coming, before anything of it is there. */
let coming: ProofSurface | null = null;

/**
 * The worker is gone, and with it what it had opened and kept. Another one makes the current proof once more; if that ends the same way
 * the maker is told, and goes on with a button. Pins keep their numbers and are computed again when they are picked.
 */
function recover(lost: RemoteLost): void {
  photosOpen.clear();
  showOrdered();
  losses++;
  setProof(({ pins }) => ({
    pins: pins.map((pin) =>
      pin.record.status === 'done' ? { ...pin, record: { ...pin.record, full: null, status: 'waiting' } } : pin,
    ),
  }));
  const { current } = useProofStore.getState();
  if (current?.status !== 'computing' && current?.status !== 'done') return;
  if (losses > 1) {
    editCurrent(current.id, (record) => ({ ...record, status: 'failed', fault: lost.message }));
    return;
  }
  setProof({ notice: `${lost.message} The proof is being computed once more.` });
  orderProof(current.piece, current.photoKey);
}

function receive(id: string, part: ProofPart): void {
  switch (part.kind) {
    case 'coarse': {
      const { width, height, pitchMm, swath, tookMs } = part;
      const coarse: ProofSurface = { id, width, height, pitchMm, swaths: [swath], complete: true, version: 1 };
      const start = orderedAt.get(id);
      if (start !== undefined) performance.measure('foreburn-coarse', { start, detail: { workerMs: tookMs } });
      editCurrent(id, (record) => ({ ...record, coarse, full: ownFull(record) }));
      return;
    }
    case 'started': {
      const { width, height, pitchMm } = part;
      coming = { id, width, height, pitchMm, swaths: [], complete: false, version: 0 };
      return;
    }
    case 'swath':
      editFull(id, (full) => addSwath(full, part.swath));
      return;
    case 'lying': {
      const { planes, opensWood } = part;
      letGo();
      waiting = planes;
      const take = () => {
        if (waiting !== planes) return null;
        waiting = null;
        return planes;
      };
      const lying = { opensWood, take };
      editFull(id, (full) => ({ ...full, lying, complete: true, version: 1 }));
      return;
    }
    case 'done': {
      const start = orderedAt.get(id);
      if (start !== undefined) performance.measure('foreburn-proof', { start });
      editCurrent(id, (record) => ({ ...record, result: part.result, status: 'done' }));
      return;
    }
    case 'sure':
      editCurrent(id, (record) => ({ ...record, sure: part.sure }));
      return;
    case 'diagnosed':
      performance.measure('foreburn-diagnosis', { start: performance.now() - part.tookMs });
      editCurrent(id, (record) => ({ ...record, diagnosis: part.diagnosis }));
      return;
    case 'ground': {
      const { key, width, height, pitchMm, swaths } = part;
      setProof({ ground: { id: key, width, height, pitchMm, swaths, complete: true, version: 1 } });
    }
  }
}

/** What a record has of its own full proof; what stands in for that is another's. */
const ownFull = ({ id, full }: ProofRecord): ProofSurface | null => (full?.id === id ? full : null);

function editFull(id: string, edit: (full: ProofSurface) => ProofSurface): void {
  editCurrent(id, (record) => {
    const full = ownFull(record) ?? (coming?.id === id ? coming : null);
    return { ...record, full: full && edit(full) };
  });
}

function addSwath(surface: ProofSurface, swath: ProofSurface['swaths'][number]): ProofSurface {
  const swaths = [...surface.swaths, swath];
  const rows = swaths.reduce((sum, one) => sum + one.rows, 0);
  const complete = rows === surface.height || surface.lying !== undefined;
  return { ...surface, swaths, complete, version: surface.version + 1 };
}

/**
 * The view has a graphics context, for the first time or again: what lay in an earlier one only is gone, and a proof that did is computed
 * once more.
 */
export function viewStarts(): void {
  const { current } = useProofStore.getState();
  if (current?.status === 'done' && !isWhole(current)) orderProof(current.piece, current.photoKey);
}

/** Planes that came last, until the view takes them. */
let waiting: SurfacePlanes | null = null;

/** What was not taken is in nobody's way any more. */
function letGo(): void {
  if (waiting instanceof ImageBitmap) waiting.close();
  waiting = null;
}

/** Hands a photograph to the worker, once. Rejects with the reason if it cannot be read, to follow the photograph's name. */
export function openPhoto(key: string, bytes: Uint8Array): Promise<PhotoSize> {
  let opening = photosOpen.get(key);
  if (!opening) {
    opening = worker.ask('photo', { key, bytes }).catch((error: Error) => {
      if (photosOpen.get(key) === opening) photosOpen.delete(key);
      throw error instanceof RemoteLost ? new RemoteLost(`cannot be opened. ${error.message}`) : error;
    });
    photosOpen.set(key, opening);
  }
  return opening;
}

/** Lets the worker go of a photograph that nothing wants any more. */
export function forgetPhoto(key: string): void {
  // A worker that is gone has let it go.
  if (photosOpen.delete(key)) worker.ask('forget-photo', { key }).catch(() => {});
}

/** A proof that the worker has been asked for and the page does not show yet. */
let ordered: ProofRecord | null = null;

/**
 * Orders a new current proof; what is under way is given up. The worker hears of it at once, the page shows it in a task of its own, so
 * that the control that was moved is drawn first. The last pictures stay until there are new ones.
 */
export function orderProof(piece: Piece, photoKey: string): void {
  proofs++;
  const id = `proof-${proofs}`;
  orderedAt.set(id, performance.now());
  under.abort();
  under = new AbortController();
  ordered = freshRecord(id, piece, photoKey, 'computing');
  compute(ordered, under.signal).catch((error: Error) => {
    // `recover` has seen to a worker that is gone.
    if (error instanceof Cancelled || error instanceof RemoteLost) return;
    showOrdered();
    editCurrent(id, (record) => ({ ...record, full: ownFull(record), status: 'failed', fault: error.message }));
  });
  setTimeout(showOrdered);
}

async function compute({ id, piece, photoKey }: ProofRecord, signal: AbortSignal): Promise<void> {
  // What the wood looks like on a photograph is the view's business: it must not make the worker lay the slab anew.
  const bare = { ...piece, slab: { ...piece.slab, photo: null } };
  await ask(
    'proof',
    { id, piece: bare, photoKey },
    {
      signal,
      onPart(part) {
        showOrdered();
        receive(id, part);
      },
      onProgress: (share, stage) =>
        setProof(({ current }) => (current?.id === id ? { progress: { share, stage } } : {})),
    },
  );
  losses = 0;
}

/** Nothing is on the slab any more: the piece has no photograph. */
export function clearProof(): void {
  under.abort();
  ordered = null;
  const { current } = useProofStore.getState();
  setProof({ current: null, ground: null, picked: [] });
  if (current && !isPinned(current.id)) forget(current.id);
}

/** Goes on with the current proof where it was stopped or has failed. */
export function computeAgain(): void {
  const { current } = useProofStore.getState();
  if (current) orderProof(current.piece, current.photoKey);
}

function showOrdered(): void {
  if (!ordered) return;
  const before = useProofStore.getState().current;
  const same = before?.photoKey === ordered.photoKey ? before : null;
  // What lies on the card is drawn until the new one lies there, a moment later; else the quick look stands in.
  const record = { ...ordered, coarse: same?.coarse ?? null, full: same?.full?.lying ? same.full : null };
  ordered = null;
  setProof(({ picked }) => ({
    current: record,
    progress: { share: 0, stage: '' },
    picked: picked.includes(NOW) ? picked : withNow(picked),
  }));
  if (!before) return;
  if (!isPinned(before.id)) forget(before.id);
  // A pin whose cells have not come from the card yet is computed again when it is picked.
  else if (before.status === 'done' && !isWhole(before)) {
    setProof(({ pins }) => ({
      pins: pins.map((pin) =>
        pin.record.id === before.id ? { ...pin, record: { ...pin.record, full: null, status: 'waiting' } } : pin,
      ),
    }));
  }
}

/** A change must be seen: the current proof takes the place of the pin at the right, or of the only one. */
const withNow = (picked: readonly string[]): string[] => (picked.length === 2 ? [picked[0], NOW] : []);

/** Gives up the full proof that is under way; the coarse one stays. */
export function stopProof(): void {
  const current = useProofStore.getState().current;
  if (current?.status !== 'computing') return;
  under.abort();
  editCurrent(current.id, (record) => ({ ...record, status: 'stopped', full: null }));
}

const isPinned = (id: string): boolean => useProofStore.getState().pins.some((pin) => pin.record.id === id);

export function forget(id: string): void {
  orderedAt.delete(id);
  // A worker that is gone has forgotten it.
  worker.ask('forget', { id }).catch(() => {});
}

/**
 * Asks the proof worker something, which has the photograph it is about open by then.
 * @throws Error with a message for people if it cannot be answered; RemoteLost if the worker is gone; Cancelled if the signal was aborted.
 */
export async function ask<Name extends QuestionName>(
  name: Name,
  asks: Questions[Name]['asks'],
  options?: AskOptions<PartOf<Questions, Name>>,
): Promise<Questions[Name]['gets']> {
  const key = 'photoKey' in asks ? asks.photoKey : '';
  const bytes = photoBytes(key);
  if (bytes) await openPhoto(key, bytes);
  return worker.ask(name, asks, options);
}
