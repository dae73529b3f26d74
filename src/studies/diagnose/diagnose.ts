import { inLanes } from '../../base/in-lanes.ts';
import { breathe } from '../../base/stop.ts';
import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import { type FittedTones, fitTones } from '../../burn/fit-tones.ts';
import { planPass } from '../../burn/plan.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import type { CoarseScene } from '../../burn/tone-scale.ts';
import type { ToneImage } from '../../image/picture.ts';
import { detailLost } from '../../image/repair/clahe.ts';
import { binWarmthK, meanWarmthsK, passWarmth, type WarmthMap } from '../../physics/heat/warmth.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';
import { WANTED_ODDS } from '../choose/odds.ts';
import { bandsOf } from '../sure/how-sure.ts';
import { type Judged, outcomeOf } from '../sure/judge.ts';
import { drawPiece } from '../sure/spread.ts';
import type { ToneError } from '../sure/tone-error.ts';
import { clearingChange, findUncleared, highest } from './clearing.ts';
import {
  about,
  acrossRadiusMm,
  applyEdits,
  type Case,
  type Cause,
  type Change,
  type DiagnosedProof,
  type Finding,
  inFocus,
  inLikelyCases,
  lightEndOf,
  minutesInstead,
  mm,
  type Place,
  percent,
  picturePlace,
  points,
  SHOWS,
  SPOILS,
  strongestPass,
  totalOf,
  towards,
  verdictOf,
  worstPlace,
} from './finding.ts';
import { findRowOffset, findShortRunUp } from './motion.ts';
import { findNoise, lightNoise, VIEWING_MM } from './noise.ts';
import { createOutlooks } from './outlook.ts';
import { type NoiseBand, type ProofSums, seenNoise } from './tally.ts';
import { findLostTones, findToneError, proofToneError, type ToneChart, toneChart } from './tones.ts';

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

interface DiagnoseOptions {
  /** Pieces drawn for the tone chart's band. */
  readonly draws: number;
  /** Pixels across the photograph, if the lack of them is to be told. */
  readonly photoPixels?: number;
  readonly signal?: AbortSignal;
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
  runner: SwathRunner,
  options: DiagnoseOptions = DIAGNOSE_DEFAULTS,
): Promise<Diagnosis> {
  const { signal } = options;
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
  await breathe(signal);
  const uncleared = await findUncleared(of);
  findings.push(...uncleared);
  if (uncleared.length === 0) findings.push(await findUnsureClearing(of));
  findings.push(findMayScorch(of));
  findings.push(findLowResolution(piece.picture.widthMm, options.photoPixels));
  await breathe(signal);
  const runUp = await findShortRunUp(of);
  findings.push(runUp.finding);
  findings.push(...(await findScorch(of, runUp.scorches)));
  findings.push(findRowOffset(of));
  await breathe(signal);
  const toneError = proofToneError(of);
  // Tones fitted to a burn that does not clear would be wrong for one that does.
  const clearFirst = uncleared.some(({ severity }) => severity >= SPOILS);
  findings.push(...(await findLostTones(of, !clearFirst)));
  findings.push(await findToneError(of, toneError, !clearFirst));
  await breathe(signal);
  const noise = lightNoise(sums);
  findings.push(...findNoise(of, noise, uncleared.find(({ kind }) => kind === 'uncleared') ?? null));
  const detail = measureDetail(piece, proof.tone);
  findings.push(findFineDetail(of, detail));
  findings.push(await findHeat(of));
  await breathe(signal);
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

/** Size of a pixel on the slab from which one sees at arm's length that detail is missing, mm: 150 pixels an inch; common practice, no published source. */
const LARGEST_PIXEL_MM = 25.4 / 150;

/** A picture is not proposed smaller than this share of its width (a choice of ours). */
const SMALLEST_SHARE = 0.4;

/** A photograph with too few pixels for the size it is burned at. `pixels`: across what lies on the slab, before it is turned. */
export function findLowResolution(widthMm: number, pixels: number | undefined): Finding | null {
  if (!pixels) return null;
  const pixelMm = widthMm / pixels;
  if (pixelMm <= LARGEST_PIXEL_MM) return null;
  const largest = Math.max(1, Math.floor(pixels * LARGEST_PIXEL_MM));
  return {
    kind: 'low-resolution',
    severity: 100 * towards(pixelMm / LARGEST_PIXEL_MM - 1, 0.8),
    sentence: `The photograph has ${pixels} pixels across ${mm(widthMm)}: detail will look soft. Up to ${largest} mm wide it looks right.`,
    value: pixelMm,
    unit: 'mm',
    place: null,
    causes: ['resolution'],
    // Burned as small as a stamp nobody wants it: then only a larger photograph helps.
    change:
      largest < SMALLEST_SHARE * widthMm
        ? null
        : {
            words: `Make the picture ${largest} mm wide`,
            outcome: 'Then it looks as sharp as a print at arm’s length.',
            edits: [{ of: 'picture', set: { widthMm: largest } }],
          },
  };
}

/** Draws that are burned once more with an even film, to tell whether the film or the paint is to blame. */
const BLAME_DRAWS = 12;

/** Light areas that clear on the film shown, but not on enough of those that may lie there, or of what paint and beam may be. */
async function findUnsureClearing(of: Case): Promise<Finding | null> {
  const { piece, judgement, judge } = of;
  const { clears } = judgement;
  if (clears === null || clears >= WANTED_ODDS) return null;
  const cause = await blame(of);
  const why =
    cause === 'film'
      ? 'the film lies unevenly, and nobody knows where it is thick'
      : piece.certainty.source === 'calibrated'
        ? 'what the card left open of paint and beam is enough to leave some of it dark'
        : 'how this paint takes this beam is known roughly only, until a card is burned';
  const worst = bandsOf(judgement, judge.lit).uncleared?.high ?? 0;
  return {
    kind: 'unsure',
    severity: 100 * towards(1 - clears, 0.25),
    sentence: `The light areas clear ${inLikelyCases(clears)}; in one of ten ${percent(worst)} of them or more stay dark: ${why}.`,
    value: 1 - clears,
    unit: 'share',
    place: null,
    causes: [cause],
    change: await clearingChange(of, { uncleared: 1 - clears, residueUm: 0, scorched: 0 }, cause),
  };
}

/** A picture that stays unscorched as shown, but not in enough cases. */
function findMayScorch({ judgement, piece, proof }: Case): Finding | null {
  const { unscorched } = judgement;
  // A further card tells the onset no surer than the first did.
  const surer =
    piece.certainty.source === 'calibrated' ? 'less power makes' : 'less power, or a card burned first, makes';
  if (unscorched >= WANTED_ODDS || proof.summary.scorchedShare >= SCORCHED_SHARE) return null;
  return {
    kind: 'may-scorch',
    severity: 100 * towards(1 - unscorched, 0.25),
    sentence: `The undercoat stays unscorched ${inLikelyCases(unscorched)} only: ${surer} it surer.`,
    value: 1 - unscorched,
    unit: 'share',
    place: null,
    causes: ['power'],
    change: null,
  };
}

async function blame({ judge, piece, runner }: Case): Promise<Cause> {
  const even = judge.sample.layout.places.map(() => 1);
  const outcomes = await inLanes(BLAME_DRAWS, runner.lanes, async (draw) =>
    outcomeOf(judge.sample, await judge.sample.burn(drawPiece(piece, draw), even)),
  );
  const cleared = outcomes.filter(({ uncleared }) => uncleared < CLEARED_SHARE).length;
  return cleared >= WANTED_ODDS * BLAME_DRAWS ? 'film' : 'paint';
}

/** How much warmer than usual a part must get, K, and by how much its tones must change, L*, to be worth a word (estimates). */
const SEEN_K = 15;

const SEEN_LIGHTNESS = 4;

/** Parts that get warmer than the rest because the rows are short there and come soon after one another. */
async function findHeat(of: Case): Promise<Finding | null> {
  const { piece, proof, outlooks } = of;
  let worst: { index: number; hot: Hot } | null = null;
  for (const [index, map] of proof.warmths.entries()) {
    const hot = map && hotPart(map, proof.screened[index].spans.backwards);
    if (hot && (!worst || hot.hotK - hot.usualK > worst.hot.hotK - worst.hot.usualK)) worst = { index, hot };
  }
  if (!worst || worst.hot.hotK - worst.hot.usualK < SEEN_K) return null;
  const { index, hot } = worst;
  const at = (kelvin: number) =>
    outlooks.lightness(
      piece,
      of.warmthsK.map((own, i) => (i === index ? kelvin : own)),
    );
  const usual = await at(hot.usualK);
  const there = await at(hot.hotK);
  const lighter = Math.max(...there.map((value, i) => Math.abs(value - usual[i])));
  if (lighter < SEEN_LIGHTNESS) return null;
  const severity = 45 * towards(lighter - SEEN_LIGHTNESS / 2, 10);
  return {
    kind: 'heat',
    severity,
    sentence: `Where rows follow one another quickly (narrow parts, turning points) the work gets ${Math.round(hot.hotK - hot.usualK)} °C warmer than elsewhere: tones change by up to ${lighter.toFixed(0)} L*.`,
    value: hot.hotK - hot.usualK,
    unit: 'K',
    place: placeOf(of, index, hot),
    causes: ['heat'],
    // Half as long again is much to ask for what hardly shows.
    change: severity >= SHOWS ? oneWayChange(of, index, hot) : null,
  };
}

interface Hot {
  readonly usualK: number;
  readonly hotK: number;
  readonly bin: number;
}

/** Median of a map, its hottest thirtieth and where that is hottest; bins that nothing burned in are cold and left out. */
function hotPart(map: WarmthMap, backwards: Uint8Array): Hot | null {
  const warmthK = binWarmthK(map, backwards);
  const burned = warmthK.filter((kelvin) => kelvin > 0.5).sort();
  if (burned.length < 20) return null;
  const at = (share: number) => burned[Math.floor(share * (burned.length - 1))];
  return { usualK: at(0.5), hotK: at(0.97), bin: warmthK.indexOf(burned[burned.length - 1]) };
}

function placeOf({ proof }: Case, index: number, { bin }: Hot): Place {
  const map = proof.warmths[index]!;
  const u = ((bin % map.columns) + 0.5) * map.dotsPerBin;
  const v = ((Math.floor(bin / map.columns) % map.rows) + 0.5) * map.rowsPerBin;
  return { ...picturePlace(proof.screened[index].raster, u, v), sizeMm: 14 };
}

/** One-way rows leave the work more time to cool; the map is worked out again with them. */
function oneWayChange({ piece, proof }: Case, index: number, hot: Hot): Change | null {
  const pass = piece.passes[index];
  if (pass.rows === 'one-way') return null;
  const { spans, raster } = proof.screened[index];
  const screened = { ...proof.screened[index], spans: { ...spans, backwards: new Uint8Array(spans.backwards.length) } };
  const passes = piece.passes.map((one, i) => (i === index ? { ...one, rows: 'one-way' as const } : one));
  const other = { ...piece, passes };
  const map = passWarmth(other, index, planPass(other, passes[index], proof.grid), screened);
  const then = hotPart(map, screened.spans.backwards);
  if (!then || then.hotK - then.usualK > 0.6 * (hot.hotK - hot.usualK)) return null;
  const timeS = passTime(screened.spans, raster.pitchMm, passes[index], piece.machine.motion).timeS;
  return {
    words: 'Burn the rows one-way',
    outcome: `Such places then get ${Math.round(then.hotK - then.usualK)} °C warmer; it takes ${minutesInstead(timeS, proof.passes[index].timeS)}.`,
    edits: [{ of: 'pass', index, set: { rows: 'one-way' } }],
  };
}

/** Crops of a large picture that stand for it: so many along each side, of so many dots. */
const CROPS = 4;

const CROP_DOTS = 160;

/** Share of the fine contrast, and mean lightness that dots lose in the worst crop, from which one sees it (estimates). */
const SEEN_SHARE = 0.25;

const SEEN_LOSS = 0.025;

interface Detail {
  /** Share of the fine contrast lost, 0–1; mean lightness lost a dot where it is worst. */
  readonly share: number;
  readonly worstLoss: number;
  readonly place: Place | null;
}

/** Detail finer than the beam, from crops all over the prepared picture; see `detailLost`. */
function measureDetail(piece: Piece, tone: ToneImage): Detail {
  const [pass] = piece.passes;
  const pitchMm = pass.rowPitchMm;
  const radiusMm = acrossRadiusMm(piece, pass);
  const width = Math.min(CROP_DOTS, tone.width);
  const height = Math.min(CROP_DOTS, tone.height);
  const places = (whole: number, part: number) => {
    const count = Math.min(CROPS, Math.ceil(whole / part));
    return Array.from({ length: count }, (_, i) => (count > 1 ? Math.round(((whole - part) * i) / (count - 1)) : 0));
  };
  let weights = 0;
  let shares = 0;
  let worstLoss = 0;
  let place: Place | null = null;
  const crop = new Float32Array(width * height);
  for (const y0 of places(tone.height, height)) {
    for (const x0 of places(tone.width, width)) {
      let covered = 0;
      for (let y = 0; y < height; y++) {
        const from = (y0 + y) * tone.width + x0;
        crop.set(tone.lightness.subarray(from, from + width), y * width);
        for (let x = 0; x < width; x++) if (tone.mask[from + x] > 0) covered++;
      }
      if (covered < 0.9 * crop.length) continue;
      const { share, lost } = detailLost(crop, width, height, radiusMm, pitchMm);
      const loss = lost.reduce((sum, value) => sum + value, 0) / lost.length;
      // A crop counts by how much fine contrast it has, which is in proportion to what it loses.
      const weight = share > 0 ? loss / share : 0;
      weights += weight;
      shares += weight * share;
      if (loss <= worstLoss) continue;
      worstLoss = loss;
      place = {
        xMm: (x0 + width / 2) * pitchMm,
        yMm: (y0 + height / 2) * pitchMm,
        sizeMm: Math.min(width, height) * pitchMm,
      };
    }
  }
  return { share: weights > 0 ? shares / weights : 0, worstLoss, place };
}

function findFineDetail({ piece, proof }: Case, detail: Detail): Finding | null {
  if (detail.share < SEEN_SHARE || detail.worstLoss < SEEN_LOSS) return null;
  const [pass] = piece.passes;
  const radiusMm = acrossRadiusMm(piece, pass);
  return {
    kind: 'fine-detail',
    severity: 45 * towards(detail.worstLoss, 0.05) * Math.min(1, detail.share / 0.4),
    sentence: `${percent(detail.share)} of the finest contrast is lost: the picture has detail finer than a beam of ${mm(2 * radiusMm)} across.`,
    value: detail.share,
    unit: 'share',
    place: detail.place,
    causes: ['spot'],
    change: focusChange(piece, proof.tone, detail),
  };
}

/** Only a sharper spot brings detail back. */
function focusChange(piece: Piece, tone: ToneImage, now: Detail): Change | null {
  if (piece.passes[0].focusOffsetMm === 0) return null;
  const edits = inFocus(piece);
  const { share } = measureDetail(applyEdits(piece, edits), tone);
  if (share > 0.8 * now.share) return null;
  return {
    words: 'Set the focus offset to 0 mm',
    outcome: `${percent(share)} of the finest contrast is then lost.`,
    edits,
  };
}

/** Broken through is worse than discoloured: less of it counts. */
const THROUGH_SHARE = 0.001;

/** Below this share of the scorch that the proof has, even patches do not know where it comes from. */
const KNOWN = 0.2;

/** Undercoat discoloured, and undercoat gone. Where it comes from the rows' ends (`rampsScorch`) the run-up is to blame, and told elsewhere. */
async function findScorch(of: Case, rampsScorch: boolean): Promise<Finding[]> {
  const { piece, proof, sums } = of;
  const { blocks } = sums;
  if (piece.stack.coats.length < 2) return [];
  const { scorchedShare } = proof.summary;
  const throughShare = totalOf(blocks.through) / Math.max(1, totalOf(blocks.picture));
  const scorches = scorchedShare > SCORCHED_SHARE;
  const through = throughShare > THROUGH_SHARE;
  if (!(scorches || through)) return [];
  if (rampsScorch) return [];
  const known = of.now.scorched > KNOWN * scorchedShare;
  const cause = await causeOf(of);
  const change = known ? await weakerChange(of) : null;
  const why = reason(piece, cause);
  const findings: Finding[] = [];
  if (through) {
    findings.push({
      kind: 'breakthrough',
      severity: 100 * towards(throughShare, 0.01),
      sentence: `${percent(throughShare)} of the picture will be burned through to the wood: ${why}.`,
      value: throughShare,
      unit: 'share',
      place: worstPlace(blocks, (block) => blocks.through[block]),
      causes: [cause],
      change,
    });
  }
  if (scorches && scorchedShare > 1.5 * throughShare) {
    findings.push({
      kind: 'scorch',
      severity: 90 * towards(scorchedShare, 0.04),
      sentence: `The undercoat will be scorched on ${percent(scorchedShare)} of the picture: ${why}.`,
      value: scorchedShare,
      unit: 'share',
      place: worstPlace(blocks, (block) => blocks.scorched[block]),
      causes: [cause],
      change,
    });
  }
  return findings;
}

async function causeOf({ piece, outlooks, now }: Case): Promise<Cause> {
  const spared = (scorched: number) => scorched < Math.max(SCORCHED_SHARE, 0.3 * now.scorched);
  if (piece.heat.carryOver) {
    const cold = await outlooks.whole(piece, { warmthsK: piece.passes.map(() => 0) });
    if (spared(cold.scorched)) return 'heat';
  }
  const lit = await outlooks.light(piece);
  if (lit.scorched > 0 && spared((await outlooks.light(piece, { evenFilm: true })).scorched)) return 'film';
  return 'power';
}

function reason(piece: Piece, cause: Cause): string {
  const power = points(piece.passes[strongestPass(piece)].lightEndPower);
  if (cause === 'heat') return 'heat that the rows leave in the wood adds to the beam';
  if (cause === 'film') return `the top coat is thin there, and ${power} power goes on into the undercoat`;
  return `${power} power is more than the top coat takes up at this feed`;
}

/** The highest light-end power that spares the undercoat; null if that would not clear. */
async function weakerChange({ piece, outlooks, proof }: Case): Promise<Change | null> {
  const index = strongestPass(piece);
  const pass = piece.passes[index];
  const edit = (power: number) => ({ of: 'pass' as const, index, set: { lightEndPower: power / 100 } });
  const spares = async (power: number) =>
    (await outlooks.whole(applyEdits(piece, [edit(power)]))).scorched <= SCORCHED_SHARE;
  const now = Math.round(100 * pass.lightEndPower);
  const power = await highest(Math.max(1, Math.floor(now / 4)), now - 1, spares);
  if (power === null) return null;
  const then = applyEdits(piece, [edit(power)]);
  const { uncleared } = await outlooks.light(then);
  const { scorched } = await outlooks.whole(then);
  if (uncleared > Math.max(CLEARED_SHARE, 2 * proof.summary.unclearedShare)) return null;
  return {
    words: `Set ${lightEndOf(piece, index)} to ${power} % (−${now - power} points)`,
    outcome: `${about(scorched)} of the picture then scorches, and ${percent(uncleared)} of the light areas stay dark.`,
    edits: [edit(power)],
  };
}
