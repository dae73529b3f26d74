import { useEffect, useRef } from 'react';
import { useBurnedPhoto } from './burned-photo-store.ts';

/** What the photograph shows and the nearest that the model can give, side by side, in the greys of their lightness. */
export function MisfitPictures() {
  const misfit = useBurnedPhoto((state) => state.misfit);
  if (!misfit) return null;
  return (
    <div className="bp-misfit">
      <TilePicture label="The photograph" columns={misfit.columns} lightness={misfit.seenL} />
      <TilePicture label="The nearest model" columns={misfit.columns} lightness={misfit.modelL} />
    </div>
  );
}

interface TilePictureProps {
  readonly label: string;
  readonly columns: number;
  readonly lightness: Float32Array;
}

function TilePicture({ label, columns, lightness }: TilePictureProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const rows = lightness.length / columns;
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const image = context.createImageData(columns, rows);
    lightness.forEach((value, tile) => {
      if (Number.isNaN(value)) return;
      image.data.fill(2.55 * value, 4 * tile, 4 * tile + 3);
      image.data[4 * tile + 3] = 255;
    });
    context.putImageData(image, 0, 0);
  }, [columns, rows, lightness]);
  return (
    <figure>
      <canvas ref={canvas} width={columns} height={rows} role="img" aria-label={label} />
      <figcaption>{label}</figcaption>
    </figure>
  );
}
