import { type KeyboardEvent, type PointerEvent, useEffect, useRef, useState } from 'react';
import { Button, FileTrigger } from 'react-aria-components';
import { colorDifference, labToHex } from '../../core/color/lab.ts';
import { colorFromPhoto, meanPatch } from '../../core/color/patch.ts';
import type { Lab } from '../../core/piece/schema.ts';
import { ChoiceControl } from './ChoiceControl.tsx';
import { PairSwitch } from './PairSwitch.tsx';

/** The photograph is shown and read at most this wide or high, pixels: a patch is an average anyway. */
const LONGEST = 1200;

const REFERENCES = [
  { id: 'paper', label: 'White paper', note: 'Plain office paper, L* about 95.', lab: [95, 0, 0] as Lab },
  { id: 'card', label: 'White of a colour chart', note: 'L* about 96.', lab: [96.5, -0.5, 2.4] as Lab },
  { id: 'grey', label: '18 % grey card', note: 'L* about 49.5.', lab: [49.5, 0, 0] as Lab },
] as const;

type Which = 'patch' | 'reference';
/** Shares of the picture's width and height. */
interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}
const START: Readonly<Record<Which, Box>> = {
  patch: { x: 0.2, y: 0.4, width: 0.2, height: 0.2 },
  reference: { x: 0.6, y: 0.4, width: 0.2, height: 0.2 },
};
const clampBox = ({ x, y, width, height }: Box): Box => {
  const w = Math.min(1, Math.max(0.01, width));
  const h = Math.min(1, Math.max(0.01, height));
  return { width: w, height: h, x: Math.min(1 - w, Math.max(0, x)), y: Math.min(1 - h, Math.max(0, y)) };
};

interface PatchPickerProps {
  current: Lab;
  onTake: (lab: Lab) => void;
}

/** Reads a coat's colour off a photograph of a dry painted patch with a white or grey reference in view. Stays on the page. */
export function PatchPicker({ current, onTake }: PatchPickerProps) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const [photo, setPhoto] = useState<ImageBitmap | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const [boxes, setBoxes] = useState(START);
  const [which, setWhich] = useState<Which>('patch');
  const [kind, setKind] = useState<(typeof REFERENCES)[number]['id']>('paper');
  const start = useRef<{ x: number; y: number } | null>(null);

  useEffect(() => {
    const target = canvas.current;
    if (!photo || !target) return;
    target.width = photo.width;
    target.height = photo.height;
    target.getContext('2d', { willReadFrequently: true })?.drawImage(photo, 0, 0);
  }, [photo]);

  const open = async (files: FileList | null) => {
    const file = files?.[0];
    if (!file) return;
    try {
      const full = await createImageBitmap(file);
      const scale = Math.min(1, LONGEST / Math.max(full.width, full.height));
      const size = { resizeWidth: Math.round(full.width * scale), resizeHeight: Math.round(full.height * scale) };
      setPhoto(await createImageBitmap(full, { ...size, resizeQuality: 'medium' }));
      setBoxes(START);
      setFault(null);
    } catch {
      setFault(`${file.name} cannot be read as a picture; save it as JPEG, PNG or WebP and open it again.`);
    }
  };

  const place = (event: PointerEvent): { x: number; y: number } => {
    const bounds = event.currentTarget.getBoundingClientRect();
    return { x: (event.clientX - bounds.left) / bounds.width, y: (event.clientY - bounds.top) / bounds.height };
  };
  const setBox = (box: Box) => setBoxes((old) => ({ ...old, [which]: clampBox(box) }));
  const drag = (event: PointerEvent) => {
    const from = start.current;
    if (!from) return;
    const to = place(event);
    setBox({
      x: Math.min(from.x, to.x),
      y: Math.min(from.y, to.y),
      width: Math.abs(to.x - from.x),
      height: Math.abs(to.y - from.y),
    });
  };
  const byKey = (event: KeyboardEvent) => {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (!step) return;
    event.preventDefault();
    const [dx, dy] = step.map((value) => value * 0.01);
    const box = boxes[which];
    setBox(
      event.shiftKey
        ? { ...box, width: box.width + dx, height: box.height + dy }
        : { ...box, x: box.x + dx, y: box.y + dy },
    );
  };

  const read = () => {
    const context = canvas.current?.getContext('2d', { willReadFrequently: true });
    if (!photo || !context) return null;
    const mean = ({ x, y, width, height }: Box) => {
      const left = Math.floor(x * photo.width);
      const top = Math.floor(y * photo.height);
      const wide = Math.max(1, Math.round(width * photo.width));
      const high = Math.max(1, Math.round(height * photo.height));
      return meanPatch(context.getImageData(left, top, wide, high).data);
    };
    const reference = REFERENCES.find(({ id }) => id === kind) ?? REFERENCES[0];
    return colorFromPhoto(mean(boxes.patch), mean(boxes.reference), reference.lab);
  };
  const [reading, setReading] = useState<ReturnType<typeof read>>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: read depends on exactly these
  useEffect(() => {
    const timer = setTimeout(() => setReading(read()), 60);
    return () => clearTimeout(timer);
  }, [photo, boxes, kind]);

  return (
    <div className="patch-picker">
      <FileTrigger acceptedFileTypes={['image/jpeg', 'image/png', 'image/webp']} onSelect={(files) => void open(files)}>
        <Button className="wide">From a photograph…</Button>
      </FileTrigger>
      {fault && <p className="warning">{fault}</p>}
      {!photo && !fault && (
        <p className="hint">A dry painted patch with white paper or a grey card beside it, in even daylight.</p>
      )}
      {photo && (
        <>
          <PairSwitch
            label="Draw round"
            value={which}
            options={[
              { id: 'patch', label: 'Paint' },
              { id: 'reference', label: 'White or grey' },
            ]}
            onChange={setWhich}
            hint="Drag a rectangle; arrow keys move it, with Shift they change its size."
          />
          <div
            className="patch-photo"
            role="application"
            // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
            tabIndex={0}
            aria-label={`Rectangle round the ${which === 'patch' ? 'painted patch' : 'white or grey reference'}`}
            onKeyDown={byKey}
            onPointerDown={(event) => {
              start.current = place(event);
              event.currentTarget.setPointerCapture(event.pointerId);
            }}
            onPointerMove={drag}
            onPointerUp={(event) => {
              drag(event);
              start.current = null;
            }}
          >
            <canvas ref={canvas} />
            {(['patch', 'reference'] as const).map((name) => (
              <span
                key={name}
                className={`patch-box${name === which ? ' patch-box-active' : ''}`}
                style={{
                  left: `${100 * boxes[name].x}%`,
                  top: `${100 * boxes[name].y}%`,
                  width: `${100 * boxes[name].width}%`,
                  height: `${100 * boxes[name].height}%`,
                }}
              >
                {name === 'patch' ? 'Paint' : 'Reference'}
              </span>
            ))}
          </div>
          <ChoiceControl label="Reference" value={kind} choices={REFERENCES} onChange={setKind} />
          {reading?.kind === 'refused' && <p className="warning">{reading.reason}</p>}
          {reading?.kind === 'color' && (
            <div className="patch-result">
              <i className="swatch" style={{ background: labToHex(reading.lab) }} aria-hidden="true" />
              <span>
                L* {reading.lab[0].toFixed(1)} a* {reading.lab[1].toFixed(1)} b* {reading.lab[2].toFixed(1)}, uneven by
                ΔE {reading.spread.toFixed(1)}, ΔE {colorDifference(reading.lab, current).toFixed(1)} from now
              </span>
              <Button className="quiet" onPress={() => onTake(reading.lab)}>
                Take this colour
              </Button>
            </div>
          )}
        </>
      )}
    </div>
  );
}
