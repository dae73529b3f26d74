import type { Piece } from '../../piece/schema.ts';
import type { ScreenedPass } from '../raster/pass-raster.ts';
import { nearHeat, passWarmthBy, type RasterPart, type Warmer, type WarmthMap, type WarmthQuestion } from './warmth.ts';

/** Levels told apart: those of a screen. More of them cost more maps than they save. */
const MOST_LEVELS = 2;

/** Settings that a pass was last asked about, and what one watt at each of its levels warms; those are made when it is asked again. */
interface Known {
  readonly key: string;
  readonly maps: Map<number, WarmthMap>;
  /** Null: too many to tell apart. */
  readonly levels: readonly number[] | null;
}

const known = new WeakMap<ScreenedPass, Known>();

/**
 * `passWarmth` for a pass that is asked about again and again: heat is what each level's watts bring, added up, so that a change of power
 * only weighs maps that are there. Throws as it does.
 */
export async function powerWarmth(
  piece: Piece,
  index: number,
  job: WarmthQuestion[2],
  screened: ScreenedPass,
  part?: RasterPart,
  warmer: Warmer = HERE,
): Promise<WarmthMap> {
  const { heat, machine, slab, stack } = piece;
  const { lightEndPower: _, darkEndPower: __, ...pass } = piece.passes[index];
  const coat = stack.coats[0] ?? null;
  const key = JSON.stringify([pass, machine, heat, coat, slab.wood, job.focus.acrossRadiiMm[0], part]);
  const before = known.get(screened);
  if (before?.key !== key) known.set(screened, { key, maps: new Map(), levels: levelsOf(screened) });
  if (before?.key !== key || !before.levels) return passWarmthBy(warmer, piece, index, job, screened, part);
  const { levels, maps } = before;
  const unitOf = async (level: number): Promise<WarmthMap> => {
    const found = maps.get(level);
    if (found) return found;
    const wattsAt = new Float64Array(256);
    wattsAt[level] = 1;
    const made = await passWarmthBy(warmer, piece, index, { ...job, wattsAt }, screened, part);
    maps.set(level, made);
    return made;
  };
  const firing = levels.filter((level) => job.wattsAt[level] > 0);
  if (firing.length === 0) return passWarmthBy(warmer, piece, index, job, screened, part);
  const units = await Promise.all(firing.map(unitOf));
  const sum = (of: (map: WarmthMap) => Float32Array) => {
    const out = new Float32Array(of(units[0]).length);
    for (const [i, level] of firing.entries()) addWeighed(out, of(units[i]), job.wattsAt[level]);
    return out;
  };
  return { ...units[0], olderK: sum(({ olderK }) => olderK), nearK: sum(({ nearK }) => nearK) };
}

const HERE: Warmer = { lanes: 1, warm: async (near) => nearHeat(near) };

/** A function of its own, which engines compile well: maps have a million places. */
function addWeighed(out: Float32Array, values: Float32Array, weight: number): void {
  for (let i = 0; i < out.length; i++) out[i] += weight * values[i];
}

function levelsOf({ levels, mask }: ScreenedPass): number[] | null {
  const known = new Uint8Array(256);
  const found: number[] = [];
  for (let i = 0; i < levels.length && found.length <= MOST_LEVELS; i++) {
    if (mask[i] === 0 || known[levels[i]] === 1) continue;
    known[levels[i]] = 1;
    found.push(levels[i]);
  }
  return found.length <= MOST_LEVELS ? found : null;
}
