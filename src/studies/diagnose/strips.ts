import type { StripRunner } from '../../burn/runner.ts';
import { burnToneScale } from '../../burn/tone-scale.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Piece, Tone } from '../../piece/schema.ts';

/** Parts of a row pitch that are told apart. */
const PARTS = 5;
const ALL_LIGHT: Tone = {
  ...NEUTRAL_TONE,
  curve: [
    [0, 1],
    [1, 1],
  ],
};

/**
 * Share of the width between two rows on which residue stays where everything burns at the light end and the film has its mean thickness. Burns a
 * patch on a grid finer than the rows: a first pass without power sets the grid.
 */
export async function stripShare(
  piece: Piece,
  appearance: AppearanceTable,
  runner: StripRunner,
  warmthsK: readonly number[],
): Promise<number> {
  const [first] = piece.passes;
  const grid = { ...first, rowPitchMm: first.rowPitchMm / PARTS, lightEndPower: 0, darkEndPower: 0, tone: null };
  const lit: Piece = {
    ...piece,
    picture: { ...piece.picture, tone: ALL_LIGHT },
    passes: [grid, ...piece.passes.map((pass) => ({ ...pass, tone: null }))],
  };
  // Three patches below one another: only the middle one has rows on both sides.
  const scale = await burnToneScale(lit, appearance, runner, [0, ...warmthsK], {
    tones: 2,
    films: [1, 1, 1],
    patchDots: 6 * PARTS,
  });
  return scale.uncleared[2];
}
