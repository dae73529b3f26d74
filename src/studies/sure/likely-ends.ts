import { Cancelled } from '../../base/cancelled.ts';
import { luminanceOf } from '../../base/color/luminance.ts';
import type { CoarseScene } from '../../burn/coarse-scene.ts';
import type { StripRunner } from '../../burn/runner.ts';
import { binsOf, countBins, inBins, meanOver } from '../../burn/scene-bins.ts';
import { burnToneScale } from '../../burn/tone-scale.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';
import { drawPiece } from './spread.ts';

/** Pieces at the ends of what is likely: of ten, one comes out darker than the first and one lighter than the second. */
export interface LikelyEnds {
  readonly darker: Piece;
  readonly lighter: Piece;
}

/**
 * Burns the tone scale of pieces that this one may truly be (`drawPiece`) and sorts them by how much light their picture gives back.
 * `onDraw` is awaited between draws.
 * @throws Cancelled if told to stop.
 */
export async function likelyEnds(
  piece: Piece,
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: StripRunner,
  { draws, warmthsK = [] }: { draws: number; warmthsK?: readonly number[] },
  onDraw: (draw: number) => Promise<boolean> = async () => true,
): Promise<LikelyEnds> {
  const counts = countBins(binsOf(scene));
  const drawn: { piece: Piece; luminance: number }[] = [];
  for (let draw = 0; draw < draws; draw++) {
    if (!(await onDraw(draw))) throw new Cancelled();
    const one = drawPiece(piece, draw);
    const scale = await burnToneScale(one, appearance, runner, warmthsK);
    const rgb = [0, 1, 2].map((k) => meanOver(inBins(scale, scale.rgb, 3, k), counts));
    drawn.push({ piece: one, luminance: luminanceOf(rgb) });
  }
  drawn.sort((a, b) => a.luminance - b.luminance);
  const at = (share: number): Piece => drawn[Math.min(drawn.length - 1, Math.floor(share * drawn.length))].piece;
  return { darker: at(0.1), lighter: at(0.9) };
}
