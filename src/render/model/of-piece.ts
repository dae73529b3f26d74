import { labToLinearRgb } from '../../base/color/lab.ts';
import { alphaOfGloss60 } from '../../physics/material/coat-optics.ts';
import { shownCrop } from '../../piece/frame.ts';
import type { Piece, Slab } from '../../piece/schema.ts';
import type { SlabShape } from '../mesh/outline.ts';
import type { FaceParts, SurfaceInSwaths, WoodPicture } from './face-map.ts';

/** 60° gloss of sanded bare wood, GU (estimate). */
const WOOD_GLOSS60 = 3;

export const shapeOf = (slab: Slab): SlabShape => ({
  shape: slab.shape,
  outlineMm: slab.outlineMm,
  widthMm: slab.widthMm,
  heightMm: slab.heightMm,
  thicknessMm: slab.thicknessMm,
  woodColor: labToLinearRgb(slab.wood.colorLab),
  edge: slab.edge,
  cut: slab.cut,
  pithXMm: slab.pithXMm,
  pithYMm: slab.pithYMm,
  ringWidthMm: slab.wood.ringWidthMm,
});

/** What the face of a piece's slab is drawn from. */
export function facePartsOf(
  piece: Piece,
  ground: SurfaceInSwaths,
  proof: SurfaceInSwaths | null,
  photographed: WoodPicture | null,
): FaceParts {
  const { slab, picture, stack } = piece;
  const wood = alphaOfGloss60(WOOD_GLOSS60);
  const alphaOf = (coat: number): number => {
    const gloss = stack.coats[coat]?.gloss60;
    return gloss === undefined ? wood : alphaOfGloss60(gloss);
  };
  return {
    widthMm: slab.widthMm,
    heightMm: slab.heightMm,
    ground,
    proof,
    centreXMm: picture.offsetXMm,
    centreYMm: picture.offsetYMm,
    crop: shownCrop(picture),
    alpha: { top: alphaOf(0), under: alphaOf(1), wood },
    wood: photographed,
  };
}

/** Fewest pixels over a face that a small slab is drawn with. */
const FEWEST_PX = 256;

/** Pixels over a slab's width that a face is worth drawing with: no finer than the rows. */
export const faceWidthPx = ({ slab, passes }: Piece, most: number): number =>
  Math.min(most, Math.max(FEWEST_PX, Math.ceil(slab.widthMm / passes[0].rowPitchMm)));

/** What a client is told about the piece. */
export function factsOf({ slab, stack }: Piece): string[] {
  const mm = (value: number) => String(Math.round(value));
  const coats = stack.coats.map(({ name }) => name).filter((name) => name.trim() !== '');
  return [
    `${slab.wood.name}, ${mm(slab.widthMm)} × ${mm(slab.heightMm)} mm, ${mm(slab.thicknessMm)} mm thick`,
    coats.length > 1
      ? `Painted ${coats[1]}, then ${coats[0]}; the picture appears where ${coats[0]} is burned away`
      : coats.length === 1
        ? `Painted ${coats[0]}; the picture appears where it is burned away`
        : 'Burned into the bare wood',
  ];
}
