import type { Pass } from '../../piece/schema.ts';
import type { Bench } from './bench.ts';
import { hardnessOf } from './hard-draw.ts';
import { lookOf } from './look.ts';
import { passMinutes } from './minutes.ts';
import { oddsOf } from './odds.ts';
import type { Outcome } from './outcome.ts';

/**
 * What a pass comes to, from a few burned patches: how light each tone gets, and how the burning end fares whatever the truth is.
 * @param solid as for `lightFloor`.
 */
export async function evaluate(bench: Bench, pass: Pass, solid = 0): Promise<Outcome> {
  const warmthsK = bench.warmthsK(pass);
  const hardness = hardnessOf(bench.piece, pass, warmthsK[0] ?? 0);
  const { curve, ...losses } = await lookOf(bench, pass, solid, warmthsK, hardness);
  const odds = await oddsOf(bench, pass, warmthsK, hardness, curve);
  return { minutes: passMinutes(bench.facts, pass, bench.piece.machine.motion), ...losses, ...odds };
}
