import { Cancelled } from '../../core/cancelled.ts';
import { DIAGNOSE_DEFAULTS, diagnose } from '../../sim/diagnosis/diagnose.ts';
import { createProofTally, type ProofTally } from '../../sim/diagnosis/tally.ts';
import { groundGrid, groundKey, layGround } from '../../sim/ground.ts';
import { howSure } from '../../sim/how-sure.ts';
import type { Photo } from '../../sim/prepare.ts';
import type { Proof } from '../../sim/proof.ts';
import type { StripRunner } from '../../sim/runner.ts';
import { meanWarmthsK } from '../../sim/warmth.ts';
import { ANSWERERS } from './answers/all.ts';
import type { Asker } from './answers/answer.ts';
import { decodePhoto } from './decode-photo.ts';
import { coarsePipeline, fullRunner, pause, photoOf, photos, pipeline, proofs, quickRunner } from './desk.ts';
import type { FromProofWorker, ToProofWorker, WireStrip } from './messages.ts';
import { type KeptProof, keepStrip } from './proof-keeper.ts';
import type { PartOf, QuestionName, Questions } from './questions.ts';
import { workerScope } from './scope.ts';

type ProofOrder = Extract<ToProofWorker, { kind: 'proof' }>;

/** Time without a newer order after which the full proof begins, so that a slider being dragged only makes coarse ones. */
const SETTLE_MS = 150;

/** Pieces that are tried to tell how sure a proof is. */
const SURE_DRAWS = 40;

let wanted: ProofOrder | null = null;
let looking = false;

const tell = (message: FromProofWorker, transfer: Transferable[] = []) => workerScope.postMessage(message, transfer);
const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));

workerScope.onmessage = (event: MessageEvent<ToProofWorker>) => {
  const message = event.data;
  switch (message.kind) {
    case 'photo':
      void takePhoto(message.key, message.bytes);
      return;
    case 'proof':
      wanted = message;
      if (!looking) void look();
      return;
    case 'cancel':
      wanted = null;
      return;
    case 'ask':
      void answer(message.ticket, message.ask);
      return;
    case 'leave':
      left.add(message.ticket);
      return;
    case 'forget':
      proofs.delete(message.id);
      return;
    case 'forget-photo':
      photos.delete(message.key);
  }
};

async function takePhoto(key: string, bytes: Uint8Array): Promise<void> {
  const decoding = decodePhoto(bytes).then((decoded): Photo => ({ key, ...decoded }));
  photos.set(key, decoding);
  try {
    const { picture } = await decoding;
    tell({ kind: 'photo-ready', key, width: picture.width, height: picture.height });
  } catch (error) {
    photos.delete(key);
    tell({ kind: 'photo-failed', key, message: messageOf(error) });
  }
}

/** Answers nobody waits for any more, until they notice. */
const left = new Set<number>();

async function answer<Name extends QuestionName>(
  ticket: number,
  { name, asks }: { readonly name: Name; readonly asks: Questions[Name]['asks'] },
): Promise<void> {
  const asker: Asker<PartOf<Name>> = {
    shouldStop: () => left.has(ticket),
    onProgress: (share, stage) => tell({ kind: 'answer-progress', ticket, share, stage }),
    onPart: (part) => tell({ kind: 'answer-part', ticket, part: part as PartOf<QuestionName> }),
  };
  try {
    const { gets, transfer = [] } = await ANSWERERS[name](asks, asker);
    tell({ kind: 'answer', ticket, gets }, [...transfer]);
  } catch (error) {
    tell({ kind: 'no-answer', ticket, message: messageOf(error) });
  }
  left.delete(ticket);
}

/**
 * Gives each newest order its quick look at once, and lets the full proof follow. A full proof that is under way for an older order
 * stops by itself at its next strip; nobody waits for it.
 */
async function look(): Promise<void> {
  looking = true;
  let seen: ProofOrder | null = null;
  while (wanted && wanted !== seen) {
    const order: ProofOrder = wanted;
    seen = order;
    await sendCoarse(order).then(() => void sendFull(order), failed(order));
  }
  looking = false;
}

const failed = (order: ProofOrder) => (error: unknown) => {
  if (!(error instanceof Cancelled)) tell({ kind: 'failed', id: order.id, message: messageOf(error) });
};

async function sendCoarse(order: ProofOrder): Promise<void> {
  const { id, piece } = order;
  const photo = await photoOf(order.photoKey);
  const start = performance.now();
  const coarse = await coarsePipeline.coarse(piece, photo, pipeline.appearance(piece), await quickRunner());
  const { width, height, pitchMm, color, relief } = coarse;
  const strip = { y0: 0, rows: height, color, relief };
  tell({ kind: 'coarse', id, width, height, pitchMm, strip, tookMs: performance.now() - start }, [
    color.buffer as ArrayBuffer,
    relief.buffer as ArrayBuffer,
  ]);
}

const sendFull = (order: ProofOrder): Promise<void> => burn(order).catch(failed(order));

async function burn(order: ProofOrder): Promise<void> {
  const { id, piece } = order;
  const shouldStop = () => wanted !== order;
  const photo = await photoOf(order.photoKey);
  await pause(SETTLE_MS);
  if (shouldStop()) throw new Cancelled();

  const runner = await fullRunner();
  await sendGround(order, runner, shouldStop);
  let kept: KeptProof | null = null;
  let tally: ProofTally | null = null;
  let proof: Proof;
  try {
    proof = await pipeline.proof({ piece, photo, collect: { surface: true, fields: true, painted: false } }, runner, {
      shouldStop,
      breathe: () => pause(0),
      now: () => performance.now(),
      onProgress: (share, stage) => tell({ kind: 'progress', id, share, stage }),
      onGrid: (grid) => {
        kept = { ...grid, strips: [] };
        proofs.set(id, kept);
        tell({ kind: 'started', id, ...grid });
      },
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onStrip: (strip) => {
        tally?.add(strip);
        if (!kept || !strip.color || !strip.relief) return;
        keepStrip(kept, strip);
        const { y0, rows, color: pixels, relief: heights } = strip;
        tell({ kind: 'strip', id, strip: { y0, rows, color: pixels, relief: heights } }, [
          pixels.buffer as ArrayBuffer,
          heights.buffer as ArrayBuffer,
        ]);
      },
    });
    const { summary, passes, direction, backend, stagesMs } = proof;
    tell({ kind: 'done', id, result: { summary, passes, direction, backend, stagesMs } });
  } catch (error) {
    proofs.delete(id);
    throw error;
  }
  await sendDiagnosis(order, photo, proof, tally!);
  await sendSure(order, photo, proof);
}

let sentGround = '';

/** The whole slab before the burn, whenever something about it changed. */
async function sendGround({ piece }: ProofOrder, runner: StripRunner, shouldStop: () => boolean): Promise<void> {
  const key = groundKey(piece);
  if (key === sentGround) return;
  const strips: WireStrip[] = [];
  await layGround(
    piece,
    pipeline.appearance(piece),
    runner,
    ({ y0, rows, color, relief }) => {
      if (color && relief) strips.push({ y0, rows, color, relief });
    },
    shouldStop,
  );
  sentGround = key;
  const transfer = strips.flatMap(({ color, relief }) => [color.buffer as ArrayBuffer, relief.buffer as ArrayBuffer]);
  tell({ kind: 'ground', key, ...groundGrid(piece), strips }, transfer);
}

async function sendDiagnosis(order: ProofOrder, photo: Photo, proof: Proof, tally: ProofTally): Promise<void> {
  const { id, piece } = order;
  const breathe = async () => {
    await pause(0);
    if (wanted !== order) throw new Cancelled();
  };
  const scene = coarsePipeline.scene(piece, photo);
  const start = performance.now();
  const diagnosis = await diagnose(piece, proof, tally.sums(), scene, await quickRunner(), {
    ...DIAGNOSE_DEFAULTS,
    breathe,
  });
  tell({ kind: 'diagnosed', id, diagnosis, tookMs: performance.now() - start });
}

/**
 * Tries what the paint and the beam may truly be, while the worker has nothing else to do. It also gets the engine to compile the law,
 * so that the maker's first change shows at once.
 */
async function sendSure(order: ProofOrder, photo: Photo, proof: Proof): Promise<void> {
  const { id, piece } = order;
  const goOn = async (): Promise<boolean> => {
    await pause(0);
    return wanted === order;
  };
  const scene = coarsePipeline.scene(piece, photo);
  const tries = { draws: SURE_DRAWS, warmthsK: meanWarmthsK(proof.warmths) };
  const sure = await howSure(piece, scene, proof.appearance, await quickRunner(), tries, goOn);
  tell({ kind: 'sure', id, sure }, [sure.map.uncleared.buffer as ArrayBuffer, sure.map.scorched.buffer as ArrayBuffer]);
}
