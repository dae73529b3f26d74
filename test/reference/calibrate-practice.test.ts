import { beforeAll, describe, expect, test } from 'vitest';
import { mmPerMinToMmPerS } from '../../src/base/units.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { type CardFit, fitCards } from '../../src/studies/calibrate/fit-card.ts';
import { type CardOracle, createCardOracle } from '../../src/studies/calibrate/predict-card.ts';
import { firstPower } from '../../src/studies/calibrate/propose.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';
import type { Card, CardPatch } from '../../src/vision/card/card.ts';
import { CARD_WISH, evenBurn, makeCard } from '../../src/vision/card/make-card.ts';
import { readByEye } from '../../src/vision/card/reading.ts';
import { rowsPerInchToPitchMm } from '../helpers/textbook.ts';

/**
 * Common practice, no published source: what is reported of dark-over-light slabs at 7000 mm/min and 300 rows per inch. A second pass over
 * a weak first one shows nothing at 15 % and its first sign at 20 %; a single pass clears at 62.5 %. Read by eye off two rows of patches, that
 * alone must tell that a single pass at 52.5 % is blotchy and that a second one at 30 % clears it.
 */
const base = createPiece('test', 'test.png');
const piece: Piece = {
  ...base,
  heat: { ...base.heat, carryOver: false },
  passes: [
    {
      ...base.passes[0],
      feedMmPerS: mmPerMinToMmPerS(7000),
      rowPitchMm: rowsPerInchToPitchMm(300),
    },
  ],
};
const WEAK = evenBurn(piece, 0.525);

/** A card whose single ladder goes through the given powers. */
function ladderCard(kind: 'step-wedge' | 'second-pass', powers: readonly number[]): Card {
  const card = makeCard(kind, piece, { ...CARD_WISH, steps: powers.length });
  const patches = card.patches.slice(0, powers.length).map((patch, i): CardPatch => {
    const burn = evenBurn(piece, powers[i]);
    return { ...patch, burns: kind === 'second-pass' ? [WEAK, burn] : [burn] };
  });
  return { ...card, patches };
}

const second = ladderCard('second-pass', [0.05, 0.1, 0.15, 0.2, 0.25, 0.3]);
const single = ladderCard('step-wedge', [0.55, 0.575, 0.6, 0.625, 0.65, 0.675]);

describe('read by eye, common practice predicts itself', () => {
  let fit: CardFit;
  beforeAll(() => {
    const seen = { clears: null, scorches: null, shows: null };
    fit = fitCards(piece, [
      { card: second, reading: readByEye(second, { ladders: [{ ...seen, shows: 4 }], widths: {}, pair: null }) },
      { card: single, reading: readByEye(single, { ladders: [{ ...seen, clears: 4 }], widths: {}, pair: null }) },
    ]);
    oracle = createCardOracle(fit.piece);
  }, 60_000);

  let oracle: CardOracle;
  const state = (powers: readonly number[], film = 1) =>
    oracle.patch(
      fit.piece,
      { burns: powers.map((power) => evenBurn(fit.piece, power)), warmthPerShareK: powers.map(() => 0) },
      film,
    );

  test('a single pass at 52.5 % is blotchy: where the film is a twentieth thicker it is visibly darker', () => {
    expect(state([0.525]).residueUm).toBeGreaterThan(1);
    expect(Math.abs(state([0.525], 1.05).lab[0] - state([0.525], 0.95).lab[0])).toBeGreaterThan(2);
  });

  test('a second pass at 30 % clears it', () => {
    expect(state([0.525, 0.3]).residueUm).toBeLessThan(1);
  });

  test('a second pass at 15 % changes nothing visible and a single one at 65 % is clear', () => {
    expect(Math.abs(state([0.525, 0.15]).lab[0] - state([0.525]).lab[0])).toBeLessThan(1);
    expect(state([0.65]).residueUm).toBeLessThan(0.1);
  });

  test('what was read narrows what matters: the power that clears, over the pieces that may be', () => {
    const clearing = (of: Piece) => {
      const patch = { ...single.patches[0], burns: [evenBurn(of, 0.5)] };
      const logs = Array.from({ length: 64 }, (_, draw) => {
        const drawn = drawPiece({ ...of, certainty: { ...of.certainty, power: 0 } }, draw);
        return Math.log(firstPower(drawn, 'clears', patch, createCardOracle(drawn)));
      });
      const mean = logs.reduce((sum, value) => sum + value, 0) / logs.length;
      return Math.sqrt(logs.reduce((sum, value) => sum + (value - mean) ** 2, 0) / logs.length);
    };
    // About 0.63 times as wide, which eight draws tell to within a quarter only; what is left is mostly the film under the two patches
    // that were looked at.
    expect(clearing(fit.piece)).toBeLessThan(0.75 * clearing(piece));
    expect(fit.piece.certainty.covariance?.names).toContain('coat0.specificEnergy');
  }, 120_000);

  test('film, energy and hiding cannot be told apart by it, and it says so', () => {
    expect(fit.untold.map(({ words }) => words).join('\n')).toMatch(/film thickness of the top coat/);
  });
});
