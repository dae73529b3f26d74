import { outputPowerW } from '../../physics/beam/source.ts';
import type { Machine } from '../../piece/schema.ts';

/** Steps that a power scale should at least be told apart in; coarser scales get decimals. */
const LEAST_STEPS = 250;

/** Power as the word S says it: whole steps of 10^−decimals. */
export interface PowerWords {
  readonly decimals: number;
  /** The fewest steps at which light comes out, and the most that the limit allows. Light cannot be told where there is none between. */
  readonly least: number;
  readonly most: number;
  /**
   * Steps for a share of full power: nearest, but never above the limit, nothing where no light would come out, and never rounded to below
   * the firing floor.
   */
  steps(share: number): number;
}

/** Least power scale on which powers can still be told apart with six decimals, with room to spare. */
export const LEAST_SCALE = 1;

/** Needs a power scale of at least `LEAST_SCALE`, and `most` no less than `least`. */
export function createPowerWords({ source, control }: Machine): PowerWords {
  const { powerScale, powerLimit } = control;
  const decimals = Math.min(6, Math.max(0, Math.ceil(Math.log10(LEAST_STEPS / powerScale))));
  const perShare = powerScale * 10 ** decimals;
  const least = Math.max(1, Math.ceil(source.firingFloor * perShare - 1e-9));
  const most = Math.floor(powerLimit * perShare + 1e-9);
  return {
    decimals,
    least,
    most,
    steps: (share) =>
      outputPowerW(source, share) > 0 ? Math.min(most, Math.max(least, Math.round(share * perShare))) : 0,
  };
}
