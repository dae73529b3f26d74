import { spotRadii } from '../../core/beam/source.ts';
import { Cancelled } from '../../core/cancelled.ts';
import { detailLost } from '../../core/image/repair/detail-lost.ts';
import { createGpuJsBackend } from '../../kernels/gpu-js.ts';
import { createCoarsePipeline } from '../../sim/coarse.ts';
import { fitTones } from '../../sim/fit-tones.ts';
import { groundGrid, groundKey, layGround } from '../../sim/ground.ts';
import { howSure } from '../../sim/how-sure.ts';
import { likelyWarmthsK } from '../../sim/likely-warmth.ts';
import { createPreparation, type Photo } from '../../sim/prepare.ts';
import { createProofPipeline, type Proof } from '../../sim/proof.ts';
import { createInlineRunner, type StripRunner } from '../../sim/runner.ts';
import { meanWarmthK } from '../../sim/warmth.ts';
import { chooseRunner } from './choose-runner.ts';
import { decodePhoto } from './decode-photo.ts';
import { drawPrepared } from './draw-prepared.ts';
import type { FromProofWorker, ToProofWorker, WireStrip } from './messages.ts';
import { drawPicture, type KeptProof, keepStrip, readProbe } from './proof-keeper.ts';
import { workerScope } from './scope.ts';

type ProofOrder = Extract<ToProofWorker, { kind: 'proof' }>;

/** Time without a newer order after which the full proof begins, so that a slider being dragged only makes coarse ones. */
const SETTLE_MS = 150;

/** Pieces that are tried to tell how sure a proof is. */
const SURE_DRAWS = 40;

const photos = new Map<string, Promise<Photo>>();
const proofs = new Map<string, KeptProof>();
/** Short strips, so that a stale proof lets go of the processor soon. */
const pipeline = createProofPipeline({ stripRows: 16 });
const coarsePipeline = createCoarsePipeline();
let fullRunner: Promise<StripRunner> | null = null;
let coarseRunner: Promise<StripRunner> | null = null;
let wanted: ProofOrder | null = null;
let looking = false;

const tell = (message: FromProofWorker, transfer: Transferable[] = []) => workerScope.postMessage(message, transfer);
const messageOf = (error: unknown): string => (error instanceof Error ? error.message : String(error));
const pause = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

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
    case 'probe': {
      const proof = proofs.get(message.id);
      const reading = proof ? readProbe(proof, message.xMm, message.yMm) : null;
      tell({ kind: 'reading', ticket: message.ticket, reading });
      return;
    }
    case 'picture':
      void sendPicture(message);
      return;
    case 'fit-tones':
      void sendTones(message);
      return;
    case 'prepared':
      void sendPrepared(message);
      return;
    case 'forget':
      proofs.delete(message.id);
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

async function sendPicture(order: Extract<ToProofWorker, { kind: 'picture' }>): Promise<void> {
  const proof = proofs.get(order.id);
  const png = proof ? await drawPicture(proof, order.which).catch(() => null) : null;
  tell({ kind: 'picture', ticket: order.ticket, png }, png ? [png.buffer as ArrayBuffer] : []);
}

/** Tones fitted to a piece's own stack and passes. */
async function sendTones(order: Extract<ToProofWorker, { kind: 'fit-tones' }>): Promise<void> {
  const { ticket, piece, intent, photoKey } = order;
  const burnPatches = async () => {
    const photo = await photos.get(photoKey);
    coarseRunner ??= createGpuJsBackend('cpu', 'coarse proof').then(createInlineRunner);
    const warmthsK = photo && piece.heat.carryOver ? likelyWarmthsK(piece, coarsePipeline.scene(piece, photo)) : [];
    return fitTones(piece, pipeline.appearance(piece), await coarseRunner, { intent, warmthsK });
  };
  const fitted = await burnPatches().catch(() => null);
  const photo = await photos.get(photoKey);
  const histogram = photo ? lightnessHistogram(coarsePipeline.scene(piece, photo).lightness) : [];
  tell({ kind: 'tones', ticket, fitted, histogram });
}

const HISTOGRAM_BINS = 64;

function lightnessHistogram(lightness: Float32Array): number[] {
  const counts = new Array<number>(HISTOGRAM_BINS).fill(0);
  for (const value of lightness) counts[Math.min(HISTOGRAM_BINS - 1, Math.floor(value * HISTOGRAM_BINS))]++;
  return counts;
}

/** The picture as the machine gets it, as a PNG of its true size. */
async function sendPrepared(order: Extract<ToProofWorker, { kind: 'prepared' }>): Promise<void> {
  const { ticket, piece, photoKey } = order;
  const draw = async () => {
    const photo = await photos.get(photoKey);
    if (!photo) return null;
    const pitchMm = piece.passes[0].rowPitchMm;
    return drawPrepared(createPreparation().tone(photo, piece, pitchMm, piece.picture.tone), pitchMm);
  };
  const png = await draw().catch(() => null);
  tell({ kind: 'picture', ticket, png }, png ? [png.buffer as ArrayBuffer] : []);
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

async function photoOf(order: ProofOrder): Promise<Photo> {
  const photo = await photos.get(order.photoKey);
  if (!photo) throw new Error('the photograph is not open any more; open it again');
  return photo;
}

async function sendCoarse(order: ProofOrder): Promise<void> {
  const { id, piece } = order;
  const photo = await photoOf(order);
  const start = performance.now();
  coarseRunner ??= createGpuJsBackend('cpu', 'coarse proof').then(createInlineRunner);
  const coarse = await coarsePipeline.coarse(piece, photo, pipeline.appearance(piece), await coarseRunner);
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
  const photo = await photoOf(order);
  await pause(SETTLE_MS);
  if (shouldStop()) throw new Cancelled();

  fullRunner ??= chooseRunner();
  const runner = await fullRunner;
  await sendGround(order, runner, shouldStop);
  let kept: KeptProof | null = null;
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
      onStrip: (strip) => {
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

/**
 * Tries what the paint and the beam may truly be, while the worker has nothing else to do. It also gets the engine to compile the law,
 * so that the maker's first change shows at once.
 */
async function sendSure(order: ProofOrder, photo: Photo, proof: Proof): Promise<void> {
  const { id, piece } = order;
  if (!coarseRunner) return;
  const goOn = async (): Promise<boolean> => {
    await pause(0);
    return wanted === order;
  };
  const scene = coarsePipeline.scene(piece, photo);
  const warmthsK = proof.warmths.map((map) => (map ? meanWarmthK(map) : 0));
  const tries = { draws: SURE_DRAWS, warmthsK };
  const sure = await howSure(piece, scene, proof.appearance, await coarseRunner, tries, goOn);
  const { lightness, width, height } = proof.tone;
  const { acrossMm } = spotRadii(piece.machine.source, piece.passes[0]);
  const lost = detailLost(lightness, width, height, acrossMm, piece.passes[0].rowPitchMm);
  tell({ kind: 'sure', id, sure, detailLost: lost.share }, [
    sure.map.uncleared.buffer as ArrayBuffer,
    sure.map.scorched.buffer as ArrayBuffer,
  ]);
}
