import type { SwathRunner } from '../../burn/runner.ts';
import { burnToneScale, type ToneScale } from '../../burn/tone-scale.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Pass, Piece } from '../../piece/schema.ts';

interface PatchRequest {
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
  runner: SwathRunner,
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
