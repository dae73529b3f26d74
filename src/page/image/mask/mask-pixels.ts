import { paintStrokes } from '../../../image/mask/brush.ts';
import { applyVignette } from '../../../image/mask/vignette.ts';
import type { BrushStroke, PictureSettings } from '../../../piece/schema.ts';

export interface MaskPixels {
  /** The mask with strokes drawn on it, 0–255; strokes that were drawn before are not drawn again. */
  paint(strokes: readonly BrushStroke[]): Uint8Array;
  /** 0 where the crop cuts away whatever the brush does. */
  readonly crop: Uint8Array;
}

/** Keeps what the last strokes left, so that one more costs one only. */
export function createMaskPixels(
  picture: Pick<PictureSettings, 'widthMm' | 'crop' | 'fallOffMm'>,
  width: number,
  height: number,
): MaskPixels {
  const pitchMm = picture.widthMm / width;
  const shape = picture.crop;
  const crop = applyVignette(null, width, height, pitchMm, { shape, fallOffMm: 0 });
  const empty = applyVignette(null, width, height, pitchMm, { shape, fallOffMm: picture.fallOffMm });
  let drawn: readonly BrushStroke[] = [];
  let mask = empty;
  return {
    crop,
    paint(strokes) {
      if (strokes === drawn) return mask;
      const goesOn = strokes.length >= drawn.length && drawn.every((stroke, i) => stroke === strokes[i]);
      mask = paintStrokes(goesOn ? mask : empty, width, height, goesOn ? strokes.slice(drawn.length) : strokes);
      drawn = strokes;
      return mask;
    },
  };
}
