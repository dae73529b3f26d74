import { frameDots, pictureMask } from '../../../burn/prepare.ts';
import { createPassRaster, maskSpans, orientToRaster } from '../../../physics/raster/pass-raster.ts';
import { passTime } from '../../../physics/raster/pass-time.ts';
import { pictureFrame } from '../../../piece/frame.ts';
import type { Piece } from '../../../piece/schema.ts';

export interface MaskSaving {
  /** Time that all passes need less than over the picture's full rectangle, about, s. */
  readonly savedS: number;
  /** Nothing of the picture is left to burn. */
  readonly nothing: boolean;
}

/** Rows are timed this far apart, mm, and stand for those between them; small pictures get finer ones. */
const COARSE_MM = 1;
const LEAST_ROWS = 150;
/** Dots fainter than this (of 255) leave no trace. */
const TRACE = 8;

/** What a piece's crop, slab and mask save, on coarse rows. Test: test/unit/mask-dialog-saving.test.ts. */
export function maskSaving(piece: Piece, photo: { readonly width: number; readonly height: number }): MaskSaving {
  // Lettering takes its time whatever the mask does.
  const bare = { ...piece, picture: { ...piece.picture, lettering: [] } };
  const { widthMm, heightMm } = pictureFrame(piece.picture, photo);
  const stepMm = Math.min(COARSE_MM, Math.max(widthMm, heightMm) / LEAST_ROWS);
  const { width, height } = frameDots(bare, photo, stepMm);
  const mask = pictureMask(bare, photo, width, height, stepMm).map((value) => (value < TRACE ? 0 : value));
  const whole =
    piece.picture.rotationRad === 0
      ? new Uint8Array(mask.length).fill(255)
      : pictureMask(
          { ...bare, picture: { ...bare.picture, crop: 'rectangle', fallOffMm: 0, strokes: [], matte: null } },
          photo,
          width,
          height,
          stepMm,
        );
  const timeS = (dots: Uint8Array) => {
    const image = { width, height, lightness: new Float32Array(dots.length), mask: dots };
    return piece.passes.reduce((sum, pass) => {
      const raster = createPassRaster(widthMm, heightMm, stepMm, pass.headingRad);
      const seen = orientToRaster(image, stepMm, raster);
      const spans = maskSpans(seen.mask, seen.width, seen.height, pass.rows === 'two-way');
      return sum + (passTime(spans, stepMm, pass, piece.machine.motion).timeS * stepMm) / pass.rowPitchMm;
    }, 0);
  };
  return { savedS: timeS(whole) - timeS(mask), nothing: mask.every((value) => value === 0) };
}
