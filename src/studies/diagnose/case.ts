import type { CoarseScene } from '../../burn/coarse-scene.ts';
import type { FittedTones } from '../../burn/fit-tones.ts';
import type { Proof } from '../../burn/proof.ts';
import type { StripRunner } from '../../burn/runner.ts';
import type { CellGrid } from '../../burn/windows.ts';
import { spotRadii } from '../../physics/beam/source.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import { faceRangeMm } from '../../physics/raster/warped.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import type { Judge, Judgement } from '../sure/judge.ts';
import type { Outlooks, WholeOutlook } from './outlook.ts';
import type { ProofSums } from './tally.ts';

/** All that a diagnosis goes by. */
export interface Case {
  readonly piece: Piece;
  readonly proof: DiagnosedProof;
  readonly sums: ProofSums;
  readonly scene: CoarseScene;
  readonly runner: StripRunner;
  /** How warm each pass finds the work on average, K. */
  readonly warmthsK: readonly number[];
  readonly outlooks: Outlooks;
  /** Tones fitted to the stack, once somebody asks for them. */
  fitted(): Promise<FittedTones>;
  /** What comes of the piece over all that it may truly be, and who says so. */
  readonly judge: Judge;
  readonly judgement: Judgement;
  /** The piece as it is. */
  readonly now: WholeOutlook;
}

export type DiagnosedProof = Pick<
  Proof,
  'grid' | 'summary' | 'passes' | 'direction' | 'tone' | 'screened' | 'warmths' | 'appearance'
>;

export const acrossRadiusMm = (piece: Piece, pass: Pass): number => spotRadii(piece.machine.source, pass).acrossMm;

/** Lowest and highest place of the face under the picture, over the slab's middle, mm. */
export function heightsOf({ slab, picture }: Piece, { width, height, pitchMm }: CellGrid): [number, number] {
  return faceRangeMm(slab, picture.offsetXMm, picture.offsetYMm, width * pitchMm, height * pitchMm);
}

/** The pass that brings the most energy to an area at its light end. */
export function strongestPass({ passes, machine }: Piece): number {
  const dose = (pass: Pass) => pass.lightEndPower / (feedOf(pass, machine.motion) * pass.rowPitchMm);
  return passes.reduce((best, pass, i) => (dose(pass) > dose(passes[best]) ? i : best), 0);
}

/** "the light end", or which pass's where there are several. */
export const lightEndOf = ({ passes }: Piece, index: number): string =>
  passes.length > 1 ? `the light end of pass ${index + 1}` : 'the light end';

/** Counts per block of all that a proof has of something, over all blocks. */
export const totalOf = (counts: Uint8Array): number => counts.reduce((sum, count) => sum + count, 0);
