import type { CoarseScene } from '../../burn/coarse-scene.ts';
import { type FittedTones, fitTones } from '../../burn/fit-tones.ts';
import type { StripRunner } from '../../burn/runner.ts';
import { meanWarmthsK } from '../../physics/heat/warmth.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Judged } from '../sure/judge.ts';
import type { Case, DiagnosedProof } from './case.ts';
import { totalOf } from './case.ts';
import { findUncleared } from './clearing.ts';
import { findFineDetail, measureDetail } from './detail.ts';
import type { Finding } from './finding.ts';
import { SPOILS } from './finding.ts';
import { findHeat } from './heat.ts';
import { findRowOffset, findShortRunUp } from './motion.ts';
import { findNoise, lightNoise, VIEWING_MM } from './noise.ts';
import type { NoiseBand } from './noise-bands.ts';
import { seenNoise } from './noise-bands.ts';
import { findMayScorch, findUnsureClearing } from './odds.ts';
import { createOutlooks } from './outlook.ts';
import { findLowResolution } from './resolution.ts';
import { findScorch } from './scorching.ts';
import type { ProofSums } from './tally.ts';
import { type ToneChart, toneChart } from './tone-chart.ts';
import type { ToneError } from './tone-error.ts';
import { findLostTones, findToneError, proofToneError } from './tones.ts';
import { verdictOf } from './verdict.ts';

/** What will go wrong with a burn, what to look at, what to change, and the numbers behind it. */
export interface Diagnosis {
  /** Worst first. */
  readonly findings: readonly Finding[];
  /** One sentence over all. */
  readonly verdict: string;
  readonly chart: ToneChart;
  readonly metrics: Metrics;
}

export interface Metrics {
  readonly toneError: ToneError;
  /** Density, after ISO 13660, over `noiseTiles` even tiles of the light areas. */
  readonly graininess: number;
  readonly mottle: number;
  readonly noiseTiles: number;
  /** Variance of L* by octave, and the noise of all of them as seen from `VIEWING_MM`, L*. */
  readonly noiseBands: readonly NoiseBand[];
  readonly seenNoise: number;
  /** Shares, 0–1. */
  readonly detailLost: number;
  readonly breakthroughShare: number;
}

export interface DiagnoseOptions {
  /** Pieces drawn for the tone chart's band. */
  readonly draws: number;
  /** Pixels across the photograph, if the lack of them is to be told. */
  readonly photoPixels?: number;
  /** Awaited between the parts, so that messages can come in; throws to stop. */
  readonly breathe?: () => Promise<void>;
}

export const DIAGNOSE_DEFAULTS: DiagnoseOptions = { draws: 8 };

/**
 * Says what will go wrong with a finished proof, worst first, and what to change: every change is tried on even patches burned through the
 * same law (see `burnToneScale`), on this picture and this film, before it is proposed.
 */
export async function diagnose(
  piece: Piece,
  proof: DiagnosedProof,
  { judge, judgement }: Judged,
  sums: ProofSums,
  scene: CoarseScene,
  runner: StripRunner,
  options: DiagnoseOptions = DIAGNOSE_DEFAULTS,
): Promise<Diagnosis> {
  const breathe = options.breathe ?? (async () => {});
  const warmthsK = piece.heat.carryOver ? meanWarmthsK(proof.warmths) : [];
  const outlooks = createOutlooks(scene, proof.appearance, runner, warmthsK);
  const now = await outlooks.whole(piece);
  let fitting: Promise<FittedTones> | null = null;
  const fitted = () => {
    fitting ??= fitTones(piece, proof.appearance, runner, { rounds: 0, warmthsK });
    return fitting;
  };
  const of: Case = { piece, proof, sums, scene, runner, warmthsK, outlooks, fitted, now, judge, judgement };
  const findings: (Finding | null)[] = [];
  await breathe();
  const uncleared = await findUncleared(of);
  findings.push(...uncleared);
  if (uncleared.length === 0) findings.push(await findUnsureClearing(of));
  findings.push(findMayScorch(of));
  findings.push(findLowResolution(piece.picture.widthMm, options.photoPixels));
  await breathe();
  const runUp = await findShortRunUp(of);
  findings.push(runUp.finding);
  findings.push(...(await findScorch(of, runUp.scorches)));
  findings.push(findRowOffset(of));
  await breathe();
  const toneError = proofToneError(of);
  // Tones fitted to a burn that does not clear would be wrong for one that does.
  const clearFirst = uncleared.some(({ severity }) => severity >= SPOILS);
  findings.push(...(await findLostTones(of, !clearFirst)));
  findings.push(await findToneError(of, toneError, !clearFirst));
  await breathe();
  const noise = lightNoise(sums);
  findings.push(...findNoise(of, noise, uncleared.find(({ kind }) => kind === 'uncleared') ?? null));
  const detail = measureDetail(piece, proof.tone);
  findings.push(findFineDetail(of, detail));
  findings.push(await findHeat(of));
  await breathe();
  const ranked = findings.filter((one) => one !== null).sort((a, b) => b.severity - a.severity);
  return {
    findings: eachChangeOnce(ranked),
    verdict: verdictOf(judgement, ranked, piece.certainty.source),
    chart: await toneChart(of, options.draws),
    metrics: {
      toneError,
      graininess: noise.print.graininess,
      mottle: noise.print.mottle,
      noiseTiles: noise.print.tiles,
      noiseBands: noise.bands,
      seenNoise: seenNoise(noise.bands, VIEWING_MM),
      detailLost: detail.share,
      breakthroughShare: totalOf(sums.blocks.through) / Math.max(1, totalOf(sums.blocks.picture)),
    },
  };
}

/** Where one change helps against several findings, the worst of them has its button. */
function eachChangeOnce(findings: readonly Finding[]): Finding[] {
  const told = new Set<string>();
  return findings.map((finding) => {
    if (!finding.change) return finding;
    if (told.has(finding.change.words)) return { ...finding, change: null };
    told.add(finding.change.words);
    return finding;
  });
}
