import { type CSSProperties, useEffect, useMemo, useRef } from 'react';
import type { BrushStroke, PictureSettings } from '../../../piece/schema.ts';
import { useLengthText } from '../../fields/use-length-text.ts';
import { BrushRing } from './BrushRing.tsx';
import type { BrushShape } from './brush-settings.ts';
import { drawVeil } from './draw-veil.ts';
import { createMaskPixels } from './mask-pixels.ts';
import { usePainting } from './use-painting.ts';

interface MaskSheetProps {
  bitmap: ImageBitmap;
  picture: PictureSettings;
  strokes: readonly BrushStroke[];
  brush: BrushShape;
  /** No more strokes are taken. */
  isFull: boolean;
  onStrokes: (strokes: readonly BrushStroke[]) => void;
}

/** The veil's longest side, pixels: soft enough when it is stretched, and quick to paint. */
const VEIL = 640;

/** The photograph under its veil; painted on with pointer or keys. Places are shares of the picture's width. */
export function MaskSheet({ bitmap, picture, strokes, brush, isFull, onStrokes }: MaskSheetProps) {
  const tall = bitmap.height / bitmap.width;
  const photo = useRef<HTMLCanvasElement>(null);
  const veil = useRef<HTMLCanvasElement>(null);
  const painting = usePainting({ brush, tall, isFull, onStrokes });
  const { at, ring, live } = painting;
  const length = useLengthText();
  const width = Math.max(1, Math.round(tall > 1 ? VEIL / tall : VEIL));
  const height = Math.max(1, Math.round(width * tall));
  const { widthMm, crop, fallOffMm } = picture;
  const pixels = useMemo(
    () => createMaskPixels({ widthMm, crop, fallOffMm }, width, height),
    [widthMm, crop, fallOffMm, width, height],
  );

  useEffect(() => {
    photo.current?.getContext('2d')?.drawImage(bitmap, 0, 0);
  }, [bitmap]);
  useEffect(() => {
    if (veil.current) drawVeil(veil.current, pixels, strokes, live ? [{ ...brush, points: [...live] }] : []);
  }, [pixels, strokes, live, brush]);

  const where = `Brush ${length(at[0] * widthMm)} from the left and ${length(at[1] * widthMm)} from the top`;
  return (
    <div className="mask-frame">
      <div className="mask-fit">
        <div
          className="mask-sheet"
          role="application"
          // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
          tabIndex={0}
          aria-label="Photograph under its veil: paint with arrow keys and Space"
          style={{ '--ratio': 1 / tall } as CSSProperties}
          {...painting.handlers}
        >
          <canvas ref={photo} width={bitmap.width} height={bitmap.height} />
          <canvas ref={veil} width={width} height={height} />
          {crop === 'oval' && <i className="mask-oval" aria-hidden="true" />}
          {ring && <BrushRing at={at} brush={brush} tall={tall} />}
        </div>
      </div>
      <p className="mask-where" aria-live="polite">
        {ring && !live ? where : ''}
      </p>
    </div>
  );
}
