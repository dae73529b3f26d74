import { cross } from './crossing.ts';
import { type Mesh, untouched } from './mesh.ts';
import type { World } from './world.ts';

/** What a crossing takes, tabulated: bilinear in what is left and in the dose, linear in how warm the work is. */
export interface TabulatedCrossing {
  /** µm left after a crossing; `dose` J/mm² as the model knows it, `warmK` over the start. */
  after(leftUm: number, dose: number, warmK: number): number;
}

/** Dense where a film vanishes. */
const LEFT_UM = [0, 0.15, 0.3, 0.6, 1, 1.5, 2.2, 3, 4, 5.5, 7.5, 10, 13, 16, 20, 25, 31, 40];
/** Over the dose that takes 25 µm at once. */
const DOSES = [
  0, 0.04, 0.08, 0.12, 0.16, 0.2, 0.24, 0.28, 0.32, 0.36, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.86, 0.93,
  1, 1.1, 1.2, 1.35, 1.5, 1.8, 2.2, 3,
];
const WARM_K = 40;
/** Steps of the model per dwell: half as many change depths by less than a tenth of a µm. */
const STEPS = 220;
const CELL_UM = 0.6;

/** A stack whose top coat is `leftUm` thick. */
function stackOf(world: World, leftUm: number, warmK: number): { world: World; mesh: Mesh } {
  const [top, ...below] = world.layers;
  const cells = Math.max(4, Math.ceil(leftUm / CELL_UM));
  const thinned: World = {
    ...world,
    startK: world.startK + warmK,
    layers: [{ ...top, thicknessMm: leftUm / 1000, cells }, ...below],
  };
  return { world: thinned, mesh: untouched(thinned) };
}

/** Thickness of the topmost layer after one crossing of a Gaussian beam's middle with a line dose, by the model itself, µm. */
export function crossed(
  world: World,
  radiusMm: number,
  feedMmPerS: number,
  leftUm: number,
  dose: number,
  warmK: number,
): number {
  if (leftUm <= 0 || dose <= 0) return leftUm;
  const stack = stackOf(world, leftUm, warmK);
  const powerW = (dose * feedMmPerS * radiusMm) / Math.sqrt(2 / Math.PI);
  cross(stack.world, stack.mesh, { powerW, radiusMm, feedMmPerS, asideMm: 0 }, STEPS);
  let left = 0;
  for (let i = 0; i < stack.mesh.left.length && stack.mesh.layerOf[i] === 0; i++) {
    left += stack.mesh.left[i] * stack.mesh.thicknessMm[i];
  }
  return 1000 * left;
}

/** Dose that leaves less than a third of a µm of 25 µm at one crossing. */
export function clearingDoseOf(world: World, radiusMm: number, feedMmPerS: number): number {
  let [low, high] = [0.005, 2];
  for (let i = 0; i < 14; i++) {
    const middle = Math.sqrt(low * high);
    if (crossed(world, radiusMm, feedMmPerS, 25, middle, 0) < 0.3) high = middle;
    else low = middle;
  }
  return high;
}

export function tabulate(world: World, radiusMm: number, feedMmPerS: number): TabulatedCrossing {
  const unit = clearingDoseOf(world, radiusMm, feedMmPerS);
  const columns = DOSES.length;
  const tables = [0, WARM_K].map((warmK) =>
    Float64Array.from(
      { length: LEFT_UM.length * columns },
      (_, i) =>
        LEFT_UM[Math.floor(i / columns)] -
        crossed(world, radiusMm, feedMmPerS, LEFT_UM[Math.floor(i / columns)], unit * DOSES[i % columns], warmK),
    ),
  );
  return {
    after(leftUm, dose, warmK) {
      if (leftUm <= 0) return 0;
      const [row, down] = between(LEFT_UM, leftUm);
      const [column, along] = between(DOSES, dose / unit);
      const at = row * columns + column;
      const [cold, warm] = tables.map((table) => {
        const above = table[at] + along * (table[at + 1] - table[at]);
        const below = table[at + columns] + along * (table[at + columns + 1] - table[at + columns]);
        return above + down * (below - above);
      });
      return Math.max(0, leftUm - (cold + (warm - cold) * (warmK / WARM_K)));
    },
  };
}

/** Lower neighbour of a place in rising values, and the way to the next one; held at the ends. */
function between(values: readonly number[], at: number): [index: number, share: number] {
  let i = 0;
  while (i < values.length - 2 && values[i + 1] <= at) i++;
  return [i, Math.min(1, Math.max(0, (at - values[i]) / (values[i + 1] - values[i])))];
}
