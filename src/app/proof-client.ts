import { Cancelled } from '../core/cancelled.ts';
import type { Piece } from '../core/piece/schema.ts';
import type { ProofSurface } from '../view/proof-surface.ts';
import { editCurrent, NOW, type ProofRecord, setProof, useProofStore } from './stores/proof-store.ts';
import type { Ask, FromProofWorker, ToProofWorker } from './worker/messages.ts';
import type { PartOf, QuestionName, Questions } from './worker/questions.ts';

/** The page's end of the proof worker: sends orders, keeps the proof store up to date. */
const worker = new Worker(new URL('./worker/proof-worker.ts', import.meta.url), { type: 'module' });
const send = (message: ToProofWorker): void => worker.postMessage(message);

type PhotoSize = { width: number; height: number };
const photosWaiting = new Map<string, { resolve: (size: PhotoSize) => void; reject: (error: Error) => void }>();
const photosOpen = new Map<string, Promise<PhotoSize>>();
interface Waiting {
  readonly resolve: (gets: never) => void;
  readonly reject: (error: Error) => void;
  readonly onProgress?: (share: number, stage: string) => void;
  readonly onPart?: (part: never) => void;
}
const waiting = new Map<number, Waiting>();
let tickets = 0;
let proofs = 0;

worker.onmessage = (event: MessageEvent<FromProofWorker>) => {
  showOrdered();
  receive(event.data);
};
worker.onerror = (event) => {
  setProof({ notice: `The proof could not be computed: ${event.message || 'its worker stopped'}. Reload the page.` });
};

function receive(message: FromProofWorker): void {
  switch (message.kind) {
    case 'photo-ready':
      photosWaiting.get(message.key)?.resolve({ width: message.width, height: message.height });
      photosWaiting.delete(message.key);
      return;
    case 'photo-failed':
      photosWaiting.get(message.key)?.reject(new Error(message.message));
      photosWaiting.delete(message.key);
      photosOpen.delete(message.key);
      return;
    case 'coarse': {
      const { id, width, height, pitchMm, strip } = message;
      const coarse: ProofSurface = { id, width, height, pitchMm, strips: [strip], complete: true, version: 1 };
      const start = orderedAt.get(id);
      if (start !== undefined) performance.measure('foreburn-coarse', { start, detail: { workerMs: message.tookMs } });
      editCurrent(id, (record) => ({ ...record, coarse }));
      return;
    }
    case 'started': {
      const { id, width, height, pitchMm } = message;
      const full: ProofSurface = { id, width, height, pitchMm, strips: [], complete: false, version: 0 };
      editCurrent(id, (record) => ({ ...record, full }));
      return;
    }
    case 'strip':
      editCurrent(message.id, (record) => ({ ...record, full: record.full && addStrip(record.full, message.strip) }));
      return;
    case 'progress':
      setProof(({ current }) =>
        current?.id === message.id ? { progress: { share: message.share, stage: message.stage } } : {},
      );
      return;
    case 'done':
      editCurrent(message.id, (record) => ({ ...record, result: message.result, status: 'done' }));
      return;
    case 'sure':
      editCurrent(message.id, (record) => ({ ...record, sure: message.sure }));
      return;
    case 'diagnosed':
      performance.measure('foreburn-diagnosis', { start: performance.now() - message.tookMs });
      editCurrent(message.id, (record) => ({ ...record, diagnosis: message.diagnosis }));
      return;
    case 'ground': {
      const { key, width, height, pitchMm, strips } = message;
      setProof({ ground: { id: key, width, height, pitchMm, strips, complete: true, version: 1 } });
      return;
    }
    case 'failed':
      editCurrent(message.id, (record) => ({ ...record, status: 'failed', fault: message.message }));
      return;
    case 'answer':
      waiting.get(message.ticket)?.resolve(message.gets as never);
      waiting.delete(message.ticket);
      return;
    case 'no-answer':
      waiting.get(message.ticket)?.reject(new Error(message.message));
      waiting.delete(message.ticket);
      return;
    case 'answer-part':
      waiting.get(message.ticket)?.onPart?.(message.part as never);
      return;
    case 'answer-progress':
      waiting.get(message.ticket)?.onProgress?.(message.share, message.stage);
  }
}

const orderedAt = new Map<string, number>();

function addStrip(surface: ProofSurface, strip: ProofSurface['strips'][number]): ProofSurface {
  const strips = [...surface.strips, strip];
  const rows = strips.reduce((sum, one) => sum + one.rows, 0);
  return { ...surface, strips, complete: rows === surface.height, version: surface.version + 1 };
}

/** Hands a photograph to the worker, once. Rejects with the reason if it cannot be read. */
export function openPhoto(key: string, bytes: Uint8Array): Promise<PhotoSize> {
  let opening = photosOpen.get(key);
  if (!opening) {
    opening = new Promise<PhotoSize>((resolve, reject) => photosWaiting.set(key, { resolve, reject }));
    photosOpen.set(key, opening);
    send({ kind: 'photo', key, bytes });
  }
  return opening;
}

/** Lets the worker go of a photograph that nothing wants any more. */
export function forgetPhoto(key: string): void {
  if (photosOpen.delete(key)) send({ kind: 'forget-photo', key });
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
  // What the wood looks like on a photograph is the view's business: it must not make the worker lay the slab anew.
  send({ kind: 'proof', id, piece: { ...piece, slab: { ...piece.slab, photo: null } }, photoKey });
  ordered = {
    id,
    piece,
    photoKey,
    coarse: null,
    full: null,
    result: null,
    sure: null,
    diagnosis: null,
    status: 'computing',
    fault: null,
  };
  setTimeout(showOrdered);
}

function showOrdered(): void {
  if (!ordered) return;
  const before = useProofStore.getState().current;
  const coarse = before?.photoKey === ordered.photoKey ? before.coarse : null;
  const record = { ...ordered, coarse };
  ordered = null;
  setProof(({ picked }) => ({
    current: record,
    progress: { share: 0, stage: '' },
    picked: picked.includes(NOW) ? picked : withNow(picked),
  }));
  if (before && !isPinned(before.id)) forget(before.id);
}

/** A change must be seen: the current proof takes the place of the pin at the right, or of the only one. */
const withNow = (picked: readonly string[]): string[] => (picked.length === 2 ? [picked[0], NOW] : []);

/** Gives up the full proof that is under way; the coarse one stays. */
export function stopProof(): void {
  const current = useProofStore.getState().current;
  if (current?.status !== 'computing') return;
  send({ kind: 'cancel' });
  editCurrent(current.id, (record) => ({ ...record, status: 'stopped', full: null }));
}

const isPinned = (id: string): boolean => useProofStore.getState().pins.some((pin) => pin.record.id === id);

export function forget(id: string): void {
  orderedAt.delete(id);
  send({ kind: 'forget', id });
}

export interface AskOptions<Part = never> {
  readonly onProgress?: (share: number, stage: string) => void;
  /** What is known of the answer so far. */
  readonly onPart?: (part: Part) => void;
  /** The answer is not wanted any more once it is aborted. */
  readonly signal?: AbortSignal;
}

/**
 * Asks the proof worker something.
 * @throws Error with a message for people if it cannot be answered; Cancelled if the signal was aborted.
 */
export function ask<Name extends QuestionName>(
  name: Name,
  asks: Questions[Name]['asks'],
  { onProgress, onPart, signal }: AskOptions<PartOf<Name>> = {},
): Promise<Questions[Name]['gets']> {
  tickets++;
  const ticket = tickets;
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(new Cancelled());
      return;
    }
    waiting.set(ticket, { resolve, reject, onProgress, onPart });
    signal?.addEventListener('abort', () => {
      if (!waiting.delete(ticket)) return;
      send({ kind: 'leave', ticket });
      reject(new Cancelled());
    });
    send({ kind: 'ask', ticket, ask: { name, asks } as Ask });
  });
}
