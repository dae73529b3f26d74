import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { FittedTones } from '../../burn/fit-tones.ts';
import type { Proof } from '../../burn/proof.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import type { CellGrid } from '../../burn/swath.ts';
import type { CoarseScene } from '../../burn/tone-scale.ts';
import { spotRadii } from '../../physics/beam/gaussian.ts';
import { faceRangeMm, type PassRaster } from '../../physics/raster/pass-raster.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Certainty, Motion, Pass, PictureSettings, Piece, Tone } from '../../piece/schema.ts';
import type { Judge, Judgement } from '../sure/judge.ts';
import type { Outlooks, WholeOutlook } from './outlook.ts';
import type { Blocks, ProofSums } from './tally.ts';

const FINDING_KINDS = [
  'uncleared',
  'scorch',
  'breakthrough',
  'lost-highlights',
  'lost-shadows',
  'fine-detail',
  'tone-error',
  'mottle',
  'graininess',
  'heat',
  'run-up',
  'row-offset',
  'unsure',
  'may-scorch',
  'low-resolution',
] as const;

export type FindingKind = (typeof FINDING_KINDS)[number];

/** What a finding may come from. */
export type Cause =
  | 'focus'
  | 'row-pitch'
  | 'film'
  | 'power'
  | 'feed'
  | 'slab-not-flat'
  | 'heat'
  | 'run-up'
  | 'row-offset'
  | 'tones'
  | 'spot'
  | 'paint'
  | 'resolution';

/** A place of the picture, mm from its left top corner, and the size of what is worth seeing there. */
export interface Place {
  readonly xMm: number;
  readonly yMm: number;
  readonly sizeMm: number;
}

/** One thing set otherwise. */
export type Edit =
  | { readonly of: 'pass'; readonly index: number; readonly set: Partial<Pass> }
  | { readonly of: 'motion'; readonly set: Partial<Motion> }
  | { readonly of: 'tone'; readonly set: Partial<Tone> }
  | { readonly of: 'picture'; readonly set: Pick<PictureSettings, 'widthMm'> };

export interface Change {
  /** An order to the maker, as in "Set the light end to 63 %". */
  readonly words: string;
  /** What then comes of it, tried on even patches; a whole sentence. */
  readonly outcome: string;
  readonly edits: readonly Edit[];
}

export interface Finding {
  readonly kind: FindingKind;
  /** 0–100: how much a maker would see it (estimate, for the order only). */
  readonly severity: number;
  /** One whole sentence for people. */
  readonly sentence: string;
  readonly value: number;
  /** Of `value`; `share` is 0–1. */
  readonly unit: 'share' | 'L*' | 'mm' | 'K';
  readonly place: Place | null;
  readonly causes: readonly Cause[];
  readonly change: Change | null;
}

/** From these severities on a finding spoils the picture, or shows; below, it is slight. */
export const SPOILS = 60;

export const SHOWS = 25;

export function applyEdits(piece: Piece, edits: readonly Edit[]): Piece {
  return edits.reduce(applyEdit, piece);
}

function applyEdit(piece: Piece, edit: Edit): Piece {
  switch (edit.of) {
    case 'pass':
      return { ...piece, passes: piece.passes.map((pass, i) => (i === edit.index ? { ...pass, ...edit.set } : pass)) };
    case 'motion':
      return { ...piece, machine: { ...piece.machine, motion: { ...piece.machine.motion, ...edit.set } } };
    case 'picture':
      return { ...piece, picture: { ...piece.picture, ...edit.set } };
    case 'tone':
      return { ...piece, picture: { ...piece.picture, tone: { ...piece.picture.tone, ...edit.set } } };
  }
}

/** Puts all passes in focus; nothing to do where they are. */
export const inFocus = (piece: Piece): Edit[] =>
  piece.passes.flatMap((pass, index) =>
    pass.focusOffsetMm === 0 ? [] : [{ of: 'pass' as const, index, set: { focusOffsetMm: 0 } }],
  );

/** 0–1, rising steeply at first: half way at `half`. */
export const towards = (value: number, half: number): number => 1 - 2 ** (-Math.max(0, value) / half);

/** All that a diagnosis goes by. */
export interface Case {
  readonly piece: Piece;
  readonly proof: DiagnosedProof;
  readonly sums: ProofSums;
  readonly scene: CoarseScene;
  readonly runner: SwathRunner;
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

/** Numbers as findings say them. */
export function percent(share: number): string {
  const value = 100 * share;
  if (value <= 0) return '0 %';
  if (value < 0.1) return 'under 0.1 %';
  return `${value < 9.95 ? value.toFixed(1) : Math.round(value)} %`;
}

/** Between which two values something lies in eight of ten likely cases, both with their unit; nothing where they read the same. */
export function likelyWords(low: string, high: string): string {
  const [, number, unit] = /^(\S+)(.*)$/s.exec(low) ?? [];
  if (low === high || number === undefined) return '';
  if (number === 'under') return `likely up to ${high}`;
  return `likely ${high.endsWith(unit) ? number : low}–${high}`;
}

/** At the head of a sentence. */
export const about = (share: number): string => (share < 0.001 ? 'Almost none' : `About ${percent(share)}`);

/** "63 of 100"; only what holds in every draw is told as all of them. */
export const of100 = (share: number): string =>
  `${share >= 1 ? 100 : share <= 0 ? 0 : Math.min(99, Math.max(1, Math.round(100 * share)))} of 100`;

/** "in 63 of 100 likely cases". */
export const inLikelyCases = (share: number): string =>
  share >= 1 ? 'in all likely cases' : share <= 0 ? 'in no likely case' : `in ${of100(share)} likely cases`;

export const points = (share: number): string => `${Math.round(100 * share)} %`;

export const mm = (value: number): string =>
  `${value < 0 ? '−' : ''}${Number(Math.abs(value).toFixed(Math.abs(value) < 1 ? 3 : 1))} mm`;

export const minutes = (seconds: number): string => `${Math.max(1, Math.round(seconds / 60))} min`;

/** How long something takes once it is changed, beside what it took. */
export const minutesInstead = (seconds: number, before: number): string =>
  minutes(seconds) === minutes(before)
    ? `${minutes(before)} as before`
    : `${minutes(seconds)} instead of ${minutes(before)}`;

/** Place of the picture, mm from its left top corner, of raster place (u, v) in dots: `PassRaster`'s map turned round. */
export function picturePlace({ column, row }: PassRaster, u: number, v: number): { xMm: number; yMm: number } {
  const determinant = column[1] * row[2] - column[2] * row[1];
  const du = u - column[0];
  const dv = v - row[0];
  return {
    xMm: (du * row[2] - column[2] * dv) / determinant,
    yMm: (column[1] * dv - du * row[1]) / determinant,
  };
}

/** Side of the area that is looked at, mm, at most a third of the picture. */
const LOOK_MM = 14;

/**
 * Where a picture has the most of something: the square of a coarse grid with the largest sum, and its neighbour if the trouble lies across
 * their border; never a lone cell. Null if there is nothing anywhere.
 */
export function worstPlace(blocks: Blocks, amount: (block: number) => number): Place | null {
  const { width, height, pitchMm } = blocks;
  const sizeMm = Math.max(2 * pitchMm, Math.min(LOOK_MM, (Math.min(width, height) * pitchMm) / 3));
  // Half squares: every place lies near the middle of one window of 2 × 2 of them.
  const step = Math.max(1, Math.round(sizeMm / 2 / pitchMm));
  const columns = Math.ceil(width / step);
  const rows = Math.ceil(height / step);
  const sums = new Float64Array(columns * rows);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      sums[Math.floor(y / step) * columns + Math.floor(x / step)] += amount(y * width + x);
    }
  }
  let worst = 0;
  let place: Place | null = null;
  for (let r = 0; r < Math.max(1, rows - 1); r++) {
    for (let c = 0; c < Math.max(1, columns - 1); c++) {
      let sum = 0;
      let momentX = 0;
      let momentY = 0;
      for (let y = r; y < Math.min(rows, r + 2); y++) {
        for (let x = c; x < Math.min(columns, c + 2); x++) {
          const value = sums[y * columns + x];
          sum += value;
          momentX += value * (x + 0.5);
          momentY += value * (y + 0.5);
        }
      }
      if (sum <= worst) continue;
      worst = sum;
      const stepMm = step * pitchMm;
      place = {
        xMm: Math.min(width * pitchMm, (momentX / sum) * stepMm),
        yMm: Math.min(height * pitchMm, (momentY / sum) * stepMm),
        sizeMm,
      };
    }
  }
  return place;
}

/** Odds from which on a maker may count on it, on the whole expect it, and no more than hope for it (choices of ours). */
export const SURE = 0.95;

export const LIKELY = 0.75;

export const OPEN = 0.4;

/**
 * One sentence over all, led by the odds: in what share of the likely cases the light areas clear and nothing scorches. What else shows is
 * said after it; it never says more than the odds do.
 */
export function verdictOf(
  { clears, accepted }: Pick<Judgement, 'clears' | 'accepted'>,
  findings: readonly Pick<Finding, 'severity' | 'kind'>[],
  source: Certainty['source'],
): string {
  const cases = inLikelyCases(accepted);
  const what = clears === null ? 'the undercoat stays unscorched' : 'the light areas clear and nothing scorches';
  const others = besideTheOdds(findings);
  const card = source === 'calibrated' ? '' : ' Burn a card first: it makes this surer.';
  const also = others.length === 0 ? '' : ` ${shown(others, ' more')}.`;
  const well = clears === null ? 'It stays unscorched' : 'It comes out clear and unscorched';
  const but = `${well} ${cases}, but ${shown(others).replace(/^One/, 'one')}.`;
  if (accepted >= SURE) return others.length > 0 ? but : `It will come out: ${what} ${cases}.`;
  // What is spoiled does not come out, however likely it clears.
  if (accepted >= OPEN && others.some(spoils)) return `${but}${accepted < LIKELY ? ' Do not burn it yet.' : ''}${card}`;
  if (accepted >= LIKELY) return `It will likely come out: ${what} ${cases}.${also}${card}`;
  if (accepted >= OPEN) return `It may come out: ${what} ${cases}. Do not burn it yet.${also}${card}`;
  return `It will not come out as it is set: ${what} ${accepted > 0 ? 'only ' : ''}${cases}.${also}`;
}

/** The same where there is no room for more than what decides. */
export function briefVerdictOf(accepted: number, findings: readonly Pick<Finding, 'severity' | 'kind'>[]): string {
  const cases = inLikelyCases(accepted);
  const worst = besideTheOdds(findings).filter(spoils).length;
  const notYet = accepted < LIKELY ? ' Do not burn it yet.' : '';
  if (accepted < OPEN || worst === 0) return `It comes out ${cases}.${notYet}`;
  return `It comes out clear ${cases}, but ${worst === 1 ? 'one thing' : `${worst} things`} will spoil it.${notYet}`;
}

/** What shows and is not told by the odds already. */
const besideTheOdds = <One extends Pick<Finding, 'severity' | 'kind'>>(findings: readonly One[]): One[] =>
  findings.filter(
    ({ severity, kind }) => severity >= SHOWS && !['unsure', 'uncleared', 'may-scorch', 'scorch'].includes(kind),
  );

type Severity = Pick<Finding, 'severity'>;

const spoils = ({ severity }: Severity): boolean => severity >= SPOILS;

/** How many things show, and how many of them spoil the picture, as the findings are headed. */
function shown(others: readonly Severity[], more = ''): string {
  const worst = others.filter(spoils).length;
  if (others.length === 1) return `One${more} thing will ${worst > 0 ? 'spoil it' : 'show'}`;
  const bad =
    worst === 0 ? '' : worst === 1 ? ', and one of them will spoil it' : `, and ${worst} of them will spoil it`;
  return `${others.length}${more} things will show${bad}`;
}

/** What the odds count. */
export const ODDS_COUNT = `A case counts where less than ${percent(CLEARED_SHARE)} of the light areas’ dots stay dark and less than ${percent(SCORCHED_SHARE)} of the picture scorches.`;
