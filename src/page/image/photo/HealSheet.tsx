import { useEffect, useMemo, useRef, useState } from 'react';
import { Button } from 'react-aria-components';
import { quantity } from '../../../base/quantity.ts';
import type { BrushStroke, HealStroke } from '../../../piece/schema.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { BrushRing, PaintSheet, strokeLine, useMaskClient, usePainting } from '../mask/MaskTable.tsx';

const BRUSH_SIZE = quantity(0.3, 200, { label: 'Brush size', unit: 'mm', step: 0.1, digits: 1, sliderHigh: 12 });

/** The piece's limits. */
const MOST_HEALS = 500;

interface HealBrush {
  readonly sizeMm: number;
  readonly setSizeMm: (sizeMm: number) => void;
  readonly shape: Pick<BrushStroke, 'does' | 'radius' | 'hardness'>;
}

/** @param widthMm how wide all of the photograph would lie on the slab. */
export function useHealBrush(widthMm: number): HealBrush {
  const [sizeMm, setSizeMm] = useState(() => Math.max(0.5, Math.round(widthMm / 10) / 10));
  const radius = Math.min(0.2, Math.max(0.0005, sizeMm / 2 / widthMm));
  const shape = useMemo(() => ({ does: 'restore' as const, radius, hardness: 1 }), [radius]);
  return { sizeMm, setSizeMm, shape };
}

interface HealSheetProps {
  bitmap: ImageBitmap;
  heals: readonly HealStroke[];
  brush: HealBrush['shape'];
  onHeals: (more: readonly HealStroke[]) => void;
}

/** The photograph in grey, as it is burned, with what strokes go over healed at once. */
export function HealSheet({ bitmap, heals, brush, onHeals }: HealSheetProps) {
  const tall = bitmap.height / bitmap.width;
  const { width, height } = bitmap;
  const photo = useRef<HTMLCanvasElement>(null);
  const trace = useRef<HTMLCanvasElement>(null);
  const client = useMaskClient();
  const [busy, setBusy] = useState(false);
  const plain = useMemo(() => {
    const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
    context?.drawImage(bitmap, 0, 0);
    return context?.getImageData(0, 0, width, height).data ?? null;
  }, [bitmap, width, height]);
  const painting = usePainting({
    brush,
    tall,
    isFull: heals.length >= MOST_HEALS,
    onStrokes: (strokes) =>
      onHeals(strokes.map(({ points, radius }) => ({ points: points.map(([x, y]) => held(x, y, tall)), radius }))),
  });
  const { at, ring, live } = painting;
  useEffect(() => {
    if (!client || !plain) return;
    let gone = false;
    setBusy(true);
    inBackground(
      client.ask('heal', { width, height, rgba: plain, heals }).then((grey) => {
        if (gone) return;
        photo.current?.getContext('2d')?.putImageData(new ImageData(grey as ImageDataArray, width, height), 0, 0);
        setBusy(false);
      }),
    );
    return () => {
      gone = true;
    };
  }, [client, plain, width, height, heals]);
  useEffect(() => {
    const context = trace.current?.getContext('2d');
    if (!context) return;
    context.clearRect(0, 0, width, height);
    const drawn = [...(live ? [{ points: live, radius: brush.radius }] : []), ...(busy ? heals.slice(-1) : [])];
    context.strokeStyle = 'rgb(45 106 132 / 55%)';
    context.lineCap = 'round';
    context.lineJoin = 'round';
    for (const { points, radius } of drawn) {
      context.lineWidth = 2 * radius * width;
      context.stroke(strokeLine(points, width));
    }
  }, [live, busy, heals, brush, width, height]);
  return (
    <PaintSheet
      label="Photograph: heal with arrow keys and Space"
      tall={tall}
      painting={painting}
      said={busy ? 'Healing…' : ''}
    >
      <canvas ref={photo} width={width} height={height} />
      <canvas ref={trace} width={width} height={height} />
      {ring && <BrushRing at={at} brush={brush} tall={tall} />}
    </PaintSheet>
  );
}

const held = (x: number, y: number, tall: number): [number, number] => [
  Math.min(1, Math.max(0, x)),
  Math.min(tall, Math.max(0, y)),
];

interface HealControlsProps {
  brush: HealBrush;
  heals: readonly HealStroke[];
  onClear: () => void;
}

export function HealControls({ brush, heals, onClear }: HealControlsProps) {
  return (
    <>
      <ValueControl
        of={BRUSH_SIZE}
        hint="Across, on the slab: a little wider than the scratch."
        value={brush.sizeMm}
        onChange={brush.setSizeMm}
      />
      <p className="plain" role="status">
        {heals.length === 0
          ? 'Nothing healed yet.'
          : heals.length >= MOST_HEALS
            ? `A piece keeps ${MOST_HEALS} healed places: undo some.`
            : `${heals.length} ${heals.length === 1 ? 'place' : 'places'} healed.`}
      </p>
      <Button className="wide" isDisabled={heals.length === 0} onPress={onClear}>
        Take all healing back
      </Button>
      <p className="hint">
        With keys: arrows move the brush, Space or Enter dabs, with Shift it draws a line from the last dab.
      </p>
    </>
  );
}
