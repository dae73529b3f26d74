import type { Piece } from '../../piece/schema.ts';
import type { CardPatch } from '../../vision/card/card.ts';
import type { CardReading } from '../../vision/card/reading.ts';
import type { CardOracle } from './predict-card.ts';
import type { PatchState } from './predict-patch.ts';

/** Change of L* or of colour that an eye just sees beside the unburned or unchanged place; common practice, no published source. */
const JUST_SEEN = 1;
/** Mean residue that still looks clear, µm. One µm of dark paint over white costs 16 L*. */
const CLEAR_UM = 0.06;

const away = (a: PatchState, b: PatchState): number =>
  Math.hypot(a.lab[0] - b.lab[0], a.lab[1] - b.lab[1], a.lab[2] - b.lab[2]);

/**
 * Set power of a patch's last burn from which something is so, by bisection of its logarithm; the highest if it never is. The other settings are the
 * patch's.
 */
export function firstPower(
  piece: Piece,
  what: CardReading['firsts'][number]['what'],
  patch: CardPatch,
  oracle: CardOracle,
  filmFactor = 1,
): number {
  const before = patch.burns.slice(0, -1);
  const last = patch.burns[patch.burns.length - 1];
  const at = (power: number): PatchState =>
    oracle.patch(
      piece,
      {
        ...patch,
        burns: [...before, { ...last, screen: 'continuous', lightEndPower: power, darkEndPower: 0, lightness: 1 }],
      },
      filmFactor,
    );
  const unburned = at(0);
  const cleared = what === 'scorches' ? clearedState(at) : unburned;
  const so = (power: number): boolean => {
    const state = at(power);
    if (what === 'clears') return state.residueUm <= CLEAR_UM;
    if (what === 'shows') return away(state, unburned) >= JUST_SEEN;
    return state.residueUm <= CLEAR_UM && away(state, cleared) >= 2 * JUST_SEEN;
  };
  let low = Math.log(0.005);
  let high = Math.log(HIGHEST);
  for (let i = 0; i < 22; i++) {
    const middle = (low + high) / 2;
    if (so(Math.exp(middle))) high = middle;
    else low = middle;
  }
  return Math.exp((low + high) / 2);
}

/** Beyond full power, so that a fit still feels a slope there. */
const HIGHEST = 4;

/** The lightest that a patch gets. */
function clearedState(at: (power: number) => PatchState): PatchState {
  let best = at(0);
  for (let k = 0; k <= 40; k++) {
    const state = at(0.02 * (HIGHEST / 0.02) ** (k / 40));
    if (state.lab[0] > best.lab[0]) best = state;
  }
  return best;
}
