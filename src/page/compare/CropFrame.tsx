import { type KeyboardEvent, type PointerEvent, useEffect, useRef } from 'react';
import type { Crop } from '../../burn/crop-proof.ts';
import type { ProofSurface } from '../../render/slab/surface/proof-surface.ts';
import { heldIn } from './hold-crop.ts';

interface CropFrameProps {
  /** The quick look at the whole picture. */
  surface: ProofSurface;
  crop: Crop;
  onChange: (crop: Crop) => void;
}

/** The whole picture small, and on it the frame of the crop: drag it, drag its corner, or move it with the arrow keys. */
export function CropFrame({ surface, crop, onChange }: CropFrameProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const place = useRef<HTMLDivElement>(null);
  const grab = useRef<{ x: number; y: number; crop: Crop; sizes: boolean } | null>(null);
  const whole = { widthMm: surface.width * surface.pitchMm, heightMm: surface.height * surface.pitchMm };
  useEffect(() => {
    const context = canvas.current?.getContext('2d');
    if (!context) return;
    const pixels = new Uint8ClampedArray(surface.strips[0].color);
    for (let i = 3; i < pixels.length; i += 4) pixels[i] = 255;
    context.putImageData(new ImageData(pixels, surface.width, surface.height), 0, 0);
  }, [surface]);

  const down = (sizes: boolean) => (event: PointerEvent<HTMLElement>) => {
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    grab.current = { x: event.clientX, y: event.clientY, crop, sizes };
  };
  const move = (event: PointerEvent<HTMLElement>) => {
    const width = place.current?.clientWidth;
    if (!grab.current || !width) return;
    const perPixel = whole.widthMm / width;
    const dx = (event.clientX - grab.current.x) * perPixel;
    const dy = (event.clientY - grab.current.y) * perPixel;
    const { xMm, yMm, widthMm, heightMm } = grab.current.crop;
    onChange(
      heldIn(
        whole,
        grab.current.sizes
          ? { xMm, yMm, widthMm: widthMm + dx, heightMm: heightMm + dy }
          : { xMm: xMm + dx, yMm: yMm + dy, widthMm, heightMm },
      ),
    );
  };
  const up = () => {
    grab.current = null;
  };
  const byKey = (event: KeyboardEvent) => {
    const step = event.shiftKey ? 10 : 1;
    const ways: Record<string, [number, number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const way = ways[event.key];
    if (!way) return;
    event.preventDefault();
    onChange(heldIn(whole, { ...crop, xMm: crop.xMm + way[0], yMm: crop.yMm + way[1] }));
  };
  const share = (mm: number, of: number) => `${(100 * mm) / of}%`;
  return (
    <div className="crop-frame" ref={place} style={{ aspectRatio: `${surface.width} / ${surface.height}` }}>
      <canvas ref={canvas} width={surface.width} height={surface.height} />
      <div
        className="crop-box"
        role="application"
        aria-roledescription="frame"
        aria-label={`Crop at ${Math.round(crop.xMm)}, ${Math.round(crop.yMm)} mm. Arrow keys move it, with Shift by 10 mm.`}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
        tabIndex={0}
        style={{
          left: share(crop.xMm, whole.widthMm),
          top: share(crop.yMm, whole.heightMm),
          width: share(crop.widthMm, whole.widthMm),
          height: share(crop.heightMm, whole.heightMm),
        }}
        onPointerDown={down(false)}
        onPointerMove={move}
        onPointerUp={up}
        onPointerCancel={up}
        onKeyDown={byKey}
      >
        <i onPointerDown={down(true)} onPointerMove={move} onPointerUp={up} onPointerCancel={up} />
      </div>
    </div>
  );
}
