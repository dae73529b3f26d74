import type { AppearanceTable } from '../../core/material/appearance.ts';
import { NEUTRAL_TONE } from '../../core/piece/defaults.ts';
import type { Pass, Piece } from '../../core/piece/schema.ts';
import type { StripRunner } from '../runner.ts';
import { burnToneScale, type ToneScale } from '../tone-scale.ts';

export interface PatchRequest {
  /** Prepared lightnesses, rising, at least two. */
  readonly tones: readonly number[];
  /** Thickness of the film over its mean. */
  readonly films: readonly number[];
  readonly patchDots: number;
}

/** Burns even patches of given prepared lightnesses with one pass. */
export function burnPatches(
  piece: Piece,
  pass: Pass,
  appearance: AppearanceTable,
  runner: StripRunner,
  warmthsK: readonly number[],
  { tones, films, patchDots }: PatchRequest,
): Promise<ToneScale> {
  const curve = tones.map((tone, i): [number, number] => [i / (tones.length - 1), tone]);
  const toned: Piece = {
    ...piece,
    passes: [{ ...pass, tone: null, only: null }],
    picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, curve } },
  };
  return burnToneScale(toned, appearance, runner, warmthsK, { tones: tones.length, films, patchDots });
}
