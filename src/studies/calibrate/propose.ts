import { CLEARED_RESIDUE_UM } from '../../burn/clearing.ts';
import type { Piece } from '../../piece/schema.ts';
import { type Card, type CardBurn, CardError, type CardKind, type CardPatch } from '../../vision/card/card.ts';
import {
  CARD_WISH,
  type CardWish,
  evenBurn,
  likelyClearing,
  makeCard,
  WEAK_SHARE,
} from '../../vision/card/make-card.ts';
import type { CardReading } from '../../vision/card/reading.ts';
import { LAW_NUMBERS, lowerTriangle, parametersOf, shiftPiece } from '../sure/spread.ts';
import { spreadAfter } from './fit/robust-fit.ts';
import { type CardOracle, createCardOracle, type PatchState } from './predict-card.ts';

interface Proposal {
  readonly kind: CardKind;
  readonly card: Card;
  /** Nats by which a reading of the card is expected to narrow the error of the picture's tones: log of before over after. */
  readonly tells: number;
}

/** What of a stack decides a proof and is told by cards. */
const ASKED = /^(spotAcross|spotAlong|beamQuality|coat0\.|coat1\.scorchOnset|wood\.)/;

const KINDS: readonly CardKind[] = ['step-wedge', 'swatch', 'lines', 'second-pass'];

const LIGHTNESS_DEVIATION = 1.5;

const WIDTH_DEVIATION_MM = 0.015;

/** Tones are off by so much whatever is known of the paint, L* (the law against the blind worlds of the tests). */
const LAW_FLOOR = 1;

const TONES = 9;

/**
 * The cards that fit on the scrap, first the one after which the picture at hand will be least off: its tones after each of its passes, and
 * after a second one over what a weak first one left. Linear: expected errors follow from the spread of the piece's numbers before and after a
 * reading, at the numbers as they are now.
 */
export function proposeCards(piece: Piece, scrap: { readonly widthMm: number; readonly heightMm: number }): Proposal[] {
  const oracle = createCardOracle(piece);
  const wish: CardWish = {
    ...CARD_WISH,
    widthMm: Math.min(Math.floor(scrap.widthMm), 120),
    heightMm: Math.min(Math.floor(scrap.heightMm), 90),
    clearing: clearingPower(piece, oracle),
  };
  const picture = pictureOf(piece, wish.clearing!);
  const found = KINDS.flatMap((kind): Proposal[] => {
    try {
      const card = makeCard(kind, piece, wish);
      return [{ kind, card, tells: gainOf(piece, card, oracle, picture) }];
    } catch (error) {
      if (error instanceof CardError) return [];
      throw error;
    }
  });
  if (found.length === 0)
    throw new CardError(`no card fits on ${scrap.widthMm} × ${scrap.heightMm} mm; take a larger piece of scrap`);
  return found.sort((a, b) => b.tells - a.tells);
}

/** Even places that stand for the picture: its passes one after another at several tones, then a second pass over a weak field. */
function pictureOf(piece: Piece, clearing: number): CardBurn[][] {
  const tones = Array.from({ length: TONES }, (_, i) => (i + 1) / TONES);
  const passAt = (index: number, lightness: number): CardBurn => {
    const pass = piece.passes[index];
    return evenBurn({ ...piece, passes: [pass] }, pass.lightEndPower, { darkEndPower: pass.darkEndPower, lightness });
  };
  const own = piece.passes
    .slice(0, 3)
    .flatMap((_, last) => tones.map((tone) => piece.passes.slice(0, last + 1).map((__, i) => passAt(i, tone))));
  const weak = evenBurn(piece, Math.min(1, WEAK_SHARE * clearing));
  const second = tones.map((tone) => [weak, evenBurn(piece, Math.min(1, 0.9 * clearing), { lightness: tone })]);
  return [...own, ...second];
}

function gainOf(piece: Piece, card: Card, oracle: CardOracle, picture: readonly CardBurn[][]): number {
  const kept = piece.certainty.source === 'calibrated' ? piece.certainty.covariance : null;
  // A calibration made before the law's later numbers were fitted does without them; without one nobody knows at which power a pass leaves a second one
  // anything to take.
  const free = parametersOf(piece).filter(
    ({ name }) =>
      ASKED.test(name) && (kept ? !LAW_NUMBERS.includes(name) || kept.names.includes(name) : name !== 'coat0.touched'),
  );
  const start = shiftPiece(
    piece,
    free.map(({ name }) => name),
    new Float64Array(free.length),
  );
  const readings = (of: Piece): number[] => [
    ...card.patches.map((patch) => oracle.patch(of, patch).lab[0] / LIGHTNESS_DEVIATION),
    ...card.lines.map((line) => oracle.line(of, line.burn).equivalentMm / WIDTH_DEVIATION_MM),
  ];
  const tonesOf = (of: Piece): number[] =>
    picture.map((burns) => oracle.patch(of, { burns, warmthPerShareK: [] }).lab[0] / Math.sqrt(picture.length));
  // Over a step as wide as the spread itself: a wedge that lies beside today's numbers may still hit the truth.
  const slopesOf = (values: (of: Piece) => number[]): number[][] => {
    const here = values(start);
    return free.map((parameter) => {
      const step = Math.max(0.01, parameter.deviation(piece));
      return values(shiftPiece(start, [parameter.name], [step])).map((value, i) => (value - here[i]) / step);
    });
  };
  const prior = free.map((a, i) =>
    free.map((b, j) => {
      const [p, q] = [kept?.names.indexOf(a.name) ?? -1, kept?.names.indexOf(b.name) ?? -1];
      if (kept && p >= 0 && q >= 0) return kept.matrix[p][q];
      return i === j ? a.deviation(piece) ** 2 : 0;
    }),
  );
  const lower = lowerTriangle(prior);
  const asked = slopesOf(tonesOf);
  const before = spreadAfter(asked, [], lower);
  const after = spreadAfter(asked, slopesOf(readings), lower);
  return Math.log(Math.hypot(before, LAW_FLOOR) / Math.hypot(after, LAW_FLOOR));
}

/**
 * Set power at which an even field just clears by the piece's numbers, cold and at its mean film, found by burning it; may lie beyond full power, by
 * at most four times what a rule of thumb says.
 */
export function clearingPower(piece: Piece, oracle: CardOracle = createCardOracle(piece)): number {
  const residueAt = (power: number): number =>
    oracle.patch(piece, { burns: [evenBurn(piece, power)], warmthPerShareK: [] }).residueUm;
  const likely = likelyClearing(piece);
  let [low, high] = [likely / 4, 4 * likely];
  for (let i = 0; i < 20; i++) {
    const middle = Math.sqrt(low * high);
    if (residueAt(middle) > CLEARED_RESIDUE_UM) low = middle;
    else high = middle;
  }
  return high;
}

/** For a card: the power that clears by a fit; null before there is one, when a first card had better lie low and span much. */
export const fittedClearing = (piece: Piece): number | null =>
  piece.certainty.source === 'calibrated' ? clearingPower(piece) : null;

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
