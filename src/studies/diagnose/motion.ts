import { SCORCHED_SHARE } from '../../burn/clearing.ts';
import { fullRunUpMm, rampFactor } from '../../physics/raster/pass-raster.ts';
import { feedOf, passTime } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';
import {
  acrossRadiusMm,
  type Case,
  type Finding,
  minutesInstead,
  mm,
  type Place,
  picturePlace,
  points,
  towards,
  worstPlace,
} from './finding.ts';

/** Excess at the rows' ends that shows, and the length over which it must reach, mm (estimates). */
const SEEN_EXCESS = 0.08;
const SEEN_MM = 0.3;
/** Heat and lag reach a little further in than the ramp, mm; share of the scorch near the ends that makes it theirs. */
const END_MM = 1;
const NEAR_ENDS = 0.6;

interface RunUpFinding {
  readonly finding: Finding | null;
  /** The ends get so much that the undercoat scorches there. */
  readonly scorches: boolean;
}

/** Ends of rows that burn deeper because the head is not yet up to speed. */
export async function findShortRunUp(of: Case): Promise<RunUpFinding> {
  const { piece, outlooks, proof } = of;
  const { motion } = piece.machine;
  const none = { finding: null, scorches: false };
  if (motion.powerAtRamps !== 'held') return none;
  let worst = { index: -1, excess: SEEN_EXCESS, lengthMm: 0, neededMm: 0 };
  for (const [index, pass] of piece.passes.entries()) {
    const feed = feedOf(pass, motion);
    const neededMm = fullRunUpMm(feed, motion.accelerationMmPerS2);
    const lengthMm = neededMm - motion.runUpMm;
    if (lengthMm < SEEN_MM) continue;
    // Over the first millimetre: what one sees, not the first dot's own peak.
    const excess = rampFactor(motion.runUpMm, Math.min(1, lengthMm), feed, motion.accelerationMmPerS2) - 1;
    if (excess > worst.excess) worst = { index, excess, lengthMm, neededMm };
  }
  if (worst.index < 0) return none;
  const { index, excess, lengthMm, neededMm } = worst;
  const stronger: Piece = {
    ...piece,
    machine: {
      ...piece.machine,
      source: { ...piece.machine.source, fullPowerW: piece.machine.source.fullPowerW * (1 + excess) },
    },
  };
  const ends = await outlooks.whole(stronger);
  const scorches = ends.scorched > SCORCHED_SHARE && scorchNearEnds(of, index, lengthMm) > NEAR_ENDS;
  const lighter = Math.max(...ends.lightness.map((value, i) => Math.abs(value - of.now.lightness[i])));
  const runUpMm = Math.ceil(2 * neededMm) / 2;
  const seen = Math.max(lighter / 10, scorches ? 1 + 4 * towards(ends.scorched, 0.2) : 0);
  return {
    scorches,
    finding: {
      kind: 'run-up',
      severity: Math.min(92, 30 * seen + 30 * towards(lengthMm, 3)),
      sentence: `The ends of the rows get ${excess < 0.5 ? `${points(excess)} more energy than` : `${(1 + excess).toFixed(1)} times the energy of`} the rest over ${mm(lengthMm)}${scorches ? ' and scorch' : ''}: a run-up of ${mm(motion.runUpMm)} is too short to get up to speed.`,
      value: lengthMm,
      unit: 'mm',
      place: endOfRows(of, index),
      causes: ['run-up'],
      change: {
        words: `Set the run-up to ${mm(runUpMm)}`,
        outcome: `All of each row is then burned at its feed; the burn takes about ${minutesInstead(timeWith(of, { runUpMm }), proof.summary.burnTimeS)}.`,
        edits: [{ of: 'motion', set: { runUpMm } }],
      },
    },
  };
}

function timeWith({ piece, proof }: Case, motion: Partial<Piece['machine']['motion']>): number {
  const other = { ...piece.machine.motion, ...motion };
  return proof.screened.reduce(
    (sum, { spans, raster }, i) => sum + passTime(spans, raster.pitchMm, piece.passes[i], other).timeS,
    0,
  );
}

/** Share of the scorched cells that lie so near an end of their row. */
function scorchNearEnds({ proof, sums }: Case, index: number, lengthMm: number): number {
  const { raster, spans } = proof.screened[index];
  const { blocks } = sums;
  const reach = (lengthMm + END_MM + blocks.pitchMm) / raster.pitchMm;
  let near = 0;
  let all = 0;
  for (let block = 0; block < blocks.scorched.length; block++) {
    const count = blocks.scorched[block];
    if (count === 0) continue;
    const xMm = ((block % blocks.width) + 0.5) * blocks.pitchMm;
    const yMm = (Math.floor(block / blocks.width) + 0.5) * blocks.pitchMm;
    const u = raster.column[0] + raster.column[1] * xMm + raster.column[2] * yMm;
    const v = Math.min(
      raster.rows - 1,
      Math.max(0, Math.floor(raster.row[0] + raster.row[1] * xMm + raster.row[2] * yMm)),
    );
    all += count;
    if (Math.min(u - spans.first[v], spans.end[v] - u) < reach) near += count;
  }
  return all > 0 ? near / all : 0;
}

/** Start of the middle one of the rows that are travelled, mm of the picture. */
function endOfRows({ proof }: Case, index: number): Place | null {
  const { raster, spans } = proof.screened[index];
  const travelled = Array.from(spans.first.keys()).filter((row) => spans.end[row] > spans.first[row]);
  if (travelled.length === 0) return null;
  const row = travelled[Math.floor(travelled.length / 2)];
  return { ...picturePlace(raster, spans.first[row] + 0.5, row + 0.5), sizeMm: 10 };
}

/** Rows burned backwards that land beside where they should. */
export function findRowOffset(of: Case): Finding | null {
  const { piece, proof, sums } = of;
  const excess = (index: number) => {
    const pass = piece.passes[index];
    if (pass.rows === 'one-way') return 0;
    return Math.abs(pass.rowOffsetErrorMm) / Math.max(acrossRadiusMm(piece, pass), pass.rowPitchMm);
  };
  const index = piece.passes.reduce((best, _, i) => (excess(i) > excess(best) ? i : best), 0);
  if (excess(index) <= 1 / 3) return null;
  const pass = piece.passes[index];
  const { raster, spans } = proof.screened[index];
  const forwards = { ...spans, backwards: new Uint8Array(spans.backwards.length) };
  const oneWayS = passTime(forwards, raster.pitchMm, { ...pass, rows: 'one-way' }, piece.machine.motion).timeS;
  const { blocks } = sums;
  const which = piece.passes.length > 1 ? ` of pass ${index + 1}` : '';
  return {
    kind: 'row-offset',
    severity: 55 + 40 * towards(excess(index) - 1 / 3, 1),
    sentence: `Rows burned there and back${which} land ${mm(Math.abs(pass.rowOffsetErrorMm))} apart and do not meet: edges turn ragged and fine detail doubles.`,
    value: Math.abs(pass.rowOffsetErrorMm),
    unit: 'mm',
    place: worstPlace(blocks, (block) => edge(blocks, block)),
    causes: ['row-offset'],
    change: {
      words: `Burn the rows${which} one-way`,
      outcome: `All rows then meet; ${piece.passes.length > 1 ? 'that pass' : 'the burn'} takes ${minutesInstead(oneWayS, proof.passes[index].timeS)}. Taking the offset out at the machine costs no time.`,
      edits: [{ of: 'pass', index, set: { rows: 'one-way' } }],
    },
  };
}

/** Step of the wanted lightness from a block to the next along the rows of a picture. */
function edge({ width, tone, picture }: Case['sums']['blocks'], block: number): number {
  if (block % width === width - 1 || picture[block] === 0 || picture[block + 1] === 0) return 0;
  const step = Math.abs(tone[block] / picture[block] - tone[block + 1] / picture[block + 1]);
  return step * step;
}
