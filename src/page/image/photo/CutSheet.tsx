import { type CSSProperties, type KeyboardEvent, type PointerEvent, useEffect, useRef } from 'react';
import type { Point } from '../../../base/geometry/outline.ts';
import { radToDeg } from '../../../base/units.ts';
import { fieldOf } from '../../../piece/fields.ts';
import type { Cut } from '../../../piece/schema.ts';
import { ARROWS } from '../../../render/gestures.ts';
import { ChoiceControl, ValueControl } from '../../fields/ValueControl.tsx';
import { usePieceStore } from '../../store/piece-store.ts';
import { cutOfRatio, type Handle, movedCut, pulledCut, straightBox, straightenedCut, turnedSize } from './cut-box.ts';

interface CutSheetProps {
  bitmap: ImageBitmap;
  cut: Cut;
  ratio: number | null;
  /** Width of the photograph. */
  pixels: number;
  /** `goesOn`: the same drag as before. */
  onChange: (cut: Cut, goesOn: boolean) => void;
}

const HANDLES: readonly (readonly [name: string, handle: Handle])[] = [
  ['Left top corner', [-1, -1]],
  ['Top side', [0, -1]],
  ['Right top corner', [1, -1]],
  ['Right side', [1, 0]],
  ['Right bottom corner', [1, 1]],
  ['Bottom side', [0, 1]],
  ['Left bottom corner', [-1, 1]],
  ['Left side', [-1, 0]],
];

/** How far an arrow key goes, shares of the photograph's width. */
const STEP = 0.004;

const FAR_STEP = 0.04;

/** The photograph turned under a straight box that is dragged, pulled or led by arrow keys. */
export function CutSheet({ bitmap, cut, ratio, pixels, onChange }: CutSheetProps) {
  const tall = bitmap.height / bitmap.width;
  const sheet = useRef<HTMLDivElement>(null);
  const photo = useRef<HTMLCanvasElement>(null);
  const drag = useRef<{ readonly from: Cut; readonly x: number; readonly y: number; moved: boolean } | null>(null);
  const [width, height] = turnedSize(cut.turnRad, tall);
  const box = straightBox(cut, tall);
  useEffect(() => {
    photo.current?.getContext('2d')?.drawImage(bitmap, 0, 0);
  }, [bitmap]);

  const hold = (event: PointerEvent) => {
    if (event.button !== 0) return;
    event.stopPropagation();
    event.currentTarget.setPointerCapture(event.pointerId);
    drag.current = { from: cut, x: event.clientX, y: event.clientY, moved: false };
  };
  const lead = (event: PointerEvent, to: (from: Cut, by: Point) => Cut) => {
    const held = drag.current;
    if (!held || !sheet.current) return;
    event.stopPropagation();
    const scale = width / sheet.current.clientWidth;
    const by: Point = [(event.clientX - held.x) * scale, (event.clientY - held.y) * scale];
    if (!held.moved && Math.hypot(event.clientX - held.x, event.clientY - held.y) < 2) return;
    onChange(to(held.from, by), held.moved);
    held.moved = true;
  };
  const release = () => {
    drag.current = null;
  };
  const byKey = (event: KeyboardEvent, to: (from: Cut, by: Point) => Cut) => {
    const arrow = ARROWS[event.key];
    if (!arrow || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    event.stopPropagation();
    const step = event.shiftKey ? FAR_STEP : STEP;
    onChange(to(cut, [step * arrow[0], step * arrow[1]]), event.repeat);
  };
  const move = (from: Cut, by: Point) => movedCut(from, by, tall);
  const percent = (value: number, of: number) => `${(100 * (value + of / 2)) / of}%`;
  const place = {
    left: percent(box.left, width),
    top: percent(box.top, height),
    width: `${(100 * cut.width) / width}%`,
    height: `${(100 * cut.height) / height}%`,
  };
  const words = `${Math.round(cut.width * pixels)} × ${Math.round(cut.height * pixels)} pixels`;
  return (
    <div className="mask-frame">
      <div className="mask-fit">
        <div className="cut-sheet" ref={sheet} style={{ '--ratio': width / height } as CSSProperties}>
          <div className="cut-under">
            <canvas
              ref={photo}
              width={bitmap.width}
              height={bitmap.height}
              style={{ width: `${100 / width}%`, transform: `translate(-50%, -50%) rotate(${-cut.turnRad}rad)` }}
            />
            <i className="cut-shade" aria-hidden="true" style={place} />
          </div>
          <div
            className="cut-box"
            role="application"
            // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
            tabIndex={0}
            aria-label="Crop box: move it with arrow keys, with Shift further"
            style={place}
            onPointerDown={hold}
            onPointerMove={(event) => lead(event, move)}
            onPointerUp={release}
            onPointerCancel={release}
            onKeyDown={(event) => byKey(event, move)}
          >
            {HANDLES.map(([name, handle]) => {
              const pull = (from: Cut, by: Point) => pulledCut(from, handle, by, ratio, tall);
              const [across, down] = handle;
              return (
                <button
                  key={name}
                  type="button"
                  className={`cut-handle ${across !== 0 && down !== 0 ? 'cut-corner' : across === 0 ? 'cut-across' : 'cut-down'}`}
                  aria-label={name}
                  style={{ left: `${50 + 50 * across}%`, top: `${50 + 50 * down}%` }}
                  onPointerDown={hold}
                  onPointerMove={(event) => lead(event, pull)}
                  onPointerUp={release}
                  onPointerCancel={release}
                  onKeyDown={(event) => byKey(event, pull)}
                />
              );
            })}
          </div>
        </div>
      </div>
      <p className="mask-where" aria-live="polite">
        {words}
        {cut.turnRad !== 0 &&
          `, turned ${Math.abs(radToDeg(cut.turnRad)).toFixed(1)}° ${cut.turnRad > 0 ? 'counter-clockwise' : 'clockwise'}`}
      </p>
    </div>
  );
}

type RatioId = 'free' | 'photo' | 'slab' | 'square' | '4:5' | '5:4' | '2:3' | '3:2';

interface CutControlsProps {
  cut: Cut;
  wanted: Cut;
  tall: number;
  ratio: number | null;
  onRatio: (ratio: number | null) => void;
  onChange: (cut: Cut, wanted: Cut) => void;
}

export function CutControls({ cut, wanted, tall, ratio, onRatio, onChange }: CutControlsProps) {
  const slab = usePieceStore((state) => state.piece.slab);
  const ratios: Readonly<Record<RatioId, number | null>> = {
    free: null,
    photo: 1 / tall,
    slab: slab.widthMm / slab.heightMm,
    square: 1,
    '4:5': 4 / 5,
    '5:4': 5 / 4,
    '2:3': 2 / 3,
    '3:2': 3 / 2,
  };
  const ids = Object.keys(ratios) as RatioId[];
  const labels: Readonly<Partial<Record<RatioId, string>>> = {
    free: 'Free',
    photo: 'As the photograph',
    slab: 'As the slab',
    square: 'Square',
  };
  return (
    <>
      <ChoiceControl
        label="Proportions"
        hint="Kept while the box is pulled."
        value={ids.find((id) => ratios[id] === ratio) ?? 'free'}
        choices={ids.map((id) => ({ id, label: labels[id] ?? id.replace(':', ' : ') }))}
        onChange={(id) => {
          const next = ratios[id];
          onRatio(next);
          if (next !== null) onChange(cutOfRatio(cut, next), cutOfRatio(cut, next));
        }}
      />
      <ValueControl
        of={fieldOf('picture.cut.turnRad')}
        hint="Turns the photograph until horizon or uprights are straight; the box stays within it."
        value={cut.turnRad}
        onChange={(turnRad) => onChange(straightenedCut({ ...wanted, turnRad: 0 }, turnRad, tall), wanted)}
      />
      <p className="hint">
        With keys: arrows move the box, or the side or corner that has the focus; with Shift further.
      </p>
    </>
  );
}
