import type { Asker } from '../../../base/remote/remote.ts';
import { Cancelled } from '../../../base/stop.ts';
import { groundGrid, groundKey, layGround } from '../../../burn/coarse.ts';
import type { Photo } from '../../../burn/prepare.ts';
import type { Proof } from '../../../burn/proof.ts';
import type { SwathResult } from '../../../burn/swath-task.ts';
import { meanWarmthsK } from '../../../physics/heat/warmth.ts';
import type { SurfacePlanes } from '../../../render/slab/surface/planes.ts';
import { DIAGNOSE_DEFAULTS, diagnose } from '../../../studies/diagnose/diagnose.ts';
import { createProofTally, type ProofTally } from '../../../studies/diagnose/tally.ts';
import { howSure } from '../../../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, type Judged, judged } from '../../../studies/sure/judge.ts';
import {
  coarsePipeline,
  fullRunner,
  type KeptProof,
  keepSwath,
  keepWork,
  keptProof,
  photoOf,
  pipeline,
  proofs,
  quickRunner,
} from './engine.ts';
import type { Answerer, ProofPart, Questions, WireSwath } from './questions.ts';

/** Time without a newer order after which the full proof begins, so that a slider being dragged only makes coarse ones. */
const SETTLE_MS = 150;

type ProofOrder = Questions['proof']['asks'];
type ProofAsker = Asker<ProofPart>;

let newest: AbortController | null = null;
let looking: Promise<void> = Promise.resolve();

/** What is done before a proof is burned, and after its numbers are there. */
interface Around {
  readonly before?: readonly (() => Promise<void>)[];
  readonly after?: readonly (() => Promise<void>)[];
}

/**
 * Gives each newest order its quick look at once, and lets the full proof follow; where a card has that at once, the other way round. A full
 * proof that is under way for an older order stops by itself at its next swath; an order that is overtaken before its quick look has none.
 */
export const answerProof: Answerer<'proof'> = async (order, asker) => {
  newest?.abort(new Cancelled());
  newest = new AbortController();
  const signal = AbortSignal.any([asker.signal, newest.signal]);
  const look = async () => {
    looking = looking
      .catch(() => {})
      .then(() => {
        signal.throwIfAborted();
        return sendCoarse(order, asker);
      });
    await looking;
  };
  const settle = async () => {
    await new Promise<void>((resolve) => setTimeout(resolve, SETTLE_MS));
    signal.throwIfAborted();
  };
  // Nothing needs to stand in for what a card has at once.
  const stages = fullRunner.atOnce ? { after: [settle, look] } : { before: [look, settle] };
  await burn(order, { ...asker, signal }, stages);
  return { gets: null };
};

async function sendCoarse(order: ProofOrder, { onPart }: ProofAsker): Promise<void> {
  const { piece } = order;
  const photo = await photoOf(order.photoKey);
  const start = performance.now();
  const coarse = await coarsePipeline.coarse(piece, photo, pipeline.appearance(piece), quickRunner);
  const { width, height, pitchMm, color, relief } = coarse;
  const swath = { y0: 0, rows: height, color, relief };
  const tookMs = performance.now() - start;
  onPart({ kind: 'coarse', width, height, pitchMm, swath, tookMs }, [color.buffer, relief.buffer]);
}

async function burn(order: ProofOrder, asker: ProofAsker, { before = [], after = [] }: Around): Promise<void> {
  const { id, piece } = order;
  const { signal, onPart, onProgress } = asker;
  const photo = await photoOf(order.photoKey);
  for (const stage of before) await stage();

  await sendGround(order, asker);
  let kept: KeptProof | null = null;
  let tally: ProofTally | null = null;
  let proof: Proof;
  const onSwath = (swath: SwathResult): void => {
    if (!kept || !swath.color || !swath.relief) return;
    tally?.add(swath);
    keepSwath(kept, swath);
    const { y0, rows, color, relief } = swath;
    onPart({ kind: 'swath', swath: { y0, rows, color, relief } }, [color.buffer, relief.buffer]);
  };
  try {
    proof = await pipeline.proof({ piece, photo, collect: SURFACE }, fullRunner, {
      signal,
      now: () => performance.now(),
      onProgress,
      onGrid: (grid) => {
        kept = keptProof(grid);
        proofs.set(id, kept);
        onPart({ kind: 'started', ...grid });
      },
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onSwath,
      onLying({ planes, opensWood }) {
        const lying = planes as SurfacePlanes;
        const given = lying instanceof Uint8Array ? lying.buffer : lying;
        onPart({ kind: 'lying', planes: lying, opensWood }, [given]);
      },
    });
    const { summary, passes, direction, stagesMs, work } = proof;
    keepWork(kept!, work, onSwath);
    onPart({ kind: 'done', result: { summary, passes, direction, backend: fullRunner.description, stagesMs } });
  } catch (error) {
    proofs.delete(id);
    throw error;
  }
  for (const stage of after) await stage();
  await (kept! as KeptProof).complete(signal);
  if (!fullRunner.atOnce) await fullRunner.prepare(proof.work, signal);
  const said = await sendSure(order, asker, photo, proof);
  await sendDiagnosis(order, asker, photo, proof, said, tally!);
}

const SURFACE = { surface: true, fields: false, painted: false };

let sentGround = '';

/** The whole slab before the burn, whenever something about it changed. */
async function sendGround({ piece }: ProofOrder, { signal, onPart }: ProofAsker): Promise<void> {
  const key = groundKey(piece);
  if (key === sentGround) return;
  const swaths: WireSwath[] = [];
  await layGround(
    piece,
    pipeline.appearance(piece),
    fullRunner,
    ({ y0, rows, color, relief }) => {
      if (color && relief) swaths.push({ y0, rows, color, relief });
    },
    signal,
  );
  sentGround = key;
  const transfer = swaths.flatMap(({ color, relief }) => [color.buffer, relief.buffer]);
  onPart({ kind: 'ground', key, ...groundGrid(piece), swaths }, transfer);
}

async function sendDiagnosis(
  { piece }: ProofOrder,
  { signal, onPart }: ProofAsker,
  photo: Photo,
  proof: Proof,
  said: Judged,
  tally: ProofTally,
): Promise<void> {
  const scene = coarsePipeline.scene(piece, photo);
  const start = performance.now();
  const diagnosis = await diagnose(piece, proof, said, tally.sums(), scene, quickRunner, {
    ...DIAGNOSE_DEFAULTS,
    photoPixels: photo.picture.width,
    signal,
  });
  onPart({ kind: 'diagnosed', diagnosis, tookMs: performance.now() - start });
}

/**
 * Tries what paint, film and beam may truly be. The map of odds also gets the engine here to compile the law, so that the maker's first change shows at
 * once.
 */
async function sendSure(
  { piece }: ProofOrder,
  { signal, onPart }: ProofAsker,
  photo: Photo,
  proof: Proof,
): Promise<Judged> {
  const scene = coarsePipeline.scene(piece, photo);
  const said = await judged(piece, proof, fullRunner, JUDGE_DRAWS, { signal });
  const quick = quickRunner;
  const sure = await howSure(piece, said, proof.appearance, scene, quick, meanWarmthsK(proof.warmths), signal);
  onPart({ kind: 'sure', sure }, [sure.map.uncleared.buffer, sure.map.scorched.buffer]);
  return said;
}
