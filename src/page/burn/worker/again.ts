import { Cancelled } from '../../../base/cancelled.ts';
import { meanWarmthsK } from '../../../physics/heat/warmth.ts';
import { DIAGNOSE_DEFAULTS, diagnose } from '../../../studies/diagnose/diagnose.ts';
import { createProofTally, type ProofTally } from '../../../studies/diagnose/tally.ts';
import { howSure } from '../../../studies/sure/how-sure.ts';
import { JUDGE_DRAWS, judged } from '../../../studies/sure/judge.ts';
import type { Answerer } from './answer.ts';
import { coarsePipeline, fullRunner, goingOn, pause, photoOf, pipeline, proofs, quickRunner } from './desk.ts';
import type { WireStrip } from './messages.ts';
import { type KeptProof, keepStrip } from './proof-keeper.ts';

export const answerAgain: Answerer<'again'> = async ({ id, piece, photoKey }, { shouldStop, onProgress }) => {
  const photo = await photoOf(photoKey);
  const quick = await quickRunner();
  const { color, relief, ...size } = await coarsePipeline.coarse(piece, photo, pipeline.appearance(piece), quick);
  const coarse = { ...size, strip: { y0: 0, rows: size.height, color, relief } };
  const strips: WireStrip[] = [];
  let tally: ProofTally | null = null;
  const proof = await pipeline
    .proof({ piece, photo, collect: { surface: true, fields: true, painted: false } }, await fullRunner(), {
      shouldStop,
      breathe: () => pause(0),
      now: () => performance.now(),
      onProgress,
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onGrid: (grid) => {
        const kept: KeptProof = { ...grid, strips: [] };
        proofs.set(id, kept);
      },
      onStrip: (strip) => {
        const kept = proofs.get(id);
        if (!kept || !strip.color || !strip.relief) return;
        keepStrip(kept, strip);
        tally?.add(strip);
        strips.push({ y0: strip.y0, rows: strip.rows, color: strip.color, relief: strip.relief });
      },
    })
    .catch((error: unknown) => {
      proofs.delete(id);
      throw error;
    });
  const { grid, summary, passes, direction, backend, stagesMs } = proof;
  const scene = coarsePipeline.scene(piece, photo);
  const goOn = goingOn(shouldStop);
  const breathe = async () => {
    if (!(await goOn())) throw new Cancelled();
  };
  const sums = (tally as ProofTally | null)?.sums();
  if (!sums) throw new Error('the proof has nothing in it');
  const said = await judged(piece, proof, quick, JUDGE_DRAWS, goOn);
  const sure = await howSure(piece, said, proof.appearance, scene, quick, meanWarmthsK(proof.warmths), goOn);
  const photoPixels = photo.picture.width;
  const diagnosis = await diagnose(piece, proof, said, sums, scene, quick, {
    ...DIAGNOSE_DEFAULTS,
    photoPixels,
    breathe,
  });
  const { width, height, pitchMm } = grid;
  const result = { summary, passes, direction, backend, stagesMs };
  const buffers = [coarse.strip, ...strips].flatMap((strip) => [strip.color.buffer, strip.relief.buffer]);
  const transfer = [...buffers, sure.map.uncleared.buffer, sure.map.scorched.buffer] as ArrayBuffer[];
  return { gets: { width, height, pitchMm, strips, coarse, result, diagnosis, sure }, transfer };
};
