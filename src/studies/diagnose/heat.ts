import { planPass } from '../../burn/plan.ts';
import { binWarmthK, passWarmth, type WarmthMap } from '../../physics/heat/warmth.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import type { Case } from './case.ts';
import { type Change, type Finding, type Place, SHOWS, towards } from './finding.ts';
import { picturePlace } from './raster-place.ts';
import { minutes } from './words.ts';

/** How much warmer than usual a part must get, K, and by how much its tones must change, L*, to be worth a word (estimates). */
const SEEN_K = 15;
const SEEN_LIGHTNESS = 4;

/** Parts that get warmer than the rest because the rows are short there and come soon after one another. */
export async function findHeat(of: Case): Promise<Finding | null> {
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
    sentence: `Where rows follow one another quickly (narrow parts, turning points) the work gets ${Math.round(hot.hotK - hot.usualK)} K warmer than elsewhere: tones change by up to ${lighter.toFixed(0)} L*.`,
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
    outcome: `Such places then get ${Math.round(then.hotK - then.usualK)} K warmer; it takes ${minutes(timeS)} instead of ${minutes(proof.passes[index].timeS)}.`,
    edits: [{ of: 'pass', index, set: { rows: 'one-way' } }],
  };
}
