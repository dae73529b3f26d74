import { CLEARED_SHARE, SCORCHED_SHARE } from '../../burn/clearing.ts';
import type { Piece } from '../../piece/schema.ts';
import { type Case, lightEndOf, strongestPass, totalOf } from './case.ts';
import { applyEdits, type Cause, type Change, type Finding, towards } from './finding.ts';
import { worstPlace } from './places.ts';
import { highest } from './search.ts';
import { about, percent, points } from './words.ts';

/** Broken through is worse than discoloured: less of it counts. */
const THROUGH_SHARE = 0.001;
/** Below this share of the scorch that the proof has, even patches do not know where it comes from. */
const KNOWN = 0.2;

/** Undercoat discoloured, and undercoat gone. Where it comes from the rows' ends (`rampsScorch`) the run-up is to blame, and told elsewhere. */
export async function findScorch(of: Case, rampsScorch: boolean): Promise<Finding[]> {
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
    outcome: `${about(scorched)} of the picture then scorches, and ${percent(uncleared)} of the light areas stay uncleared.`,
    edits: [edit(power)],
  };
}
