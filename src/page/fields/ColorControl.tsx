import { type PointerEvent, useCallback, useEffect, useId, useRef, useState } from 'react';
import { Button } from 'react-aria-components';
import {
  colorDifference,
  differenceWords,
  hexToLab,
  type Lab,
  labFromD50,
  labToD50,
  labToHex,
  PATCH_REFERENCES,
  type PatchReferenceId,
  referenceLab,
} from '../../base/color/lab.ts';
import { colorFromPhoto, meanPatch, type PatchReading } from '../../base/color/patch.ts';
import { quantity } from '../../base/quantity.ts';
import { lab as labSchema } from '../../piece/schema.ts';
import { ARROWS } from '../../render/gestures.ts';
import { OpenButton } from './OpenButton.tsx';
import { PartHeard } from './of-part.tsx';
import { openPatchPhoto } from './open-patch-photo.ts';
import { More } from './SheetDialog.tsx';
import { Fault } from './TaskProgress.tsx';
import { ChoiceControl, PairSwitch, SwitchControl, ValueControl } from './ValueControl.tsx';
import './color-control.css';

const PAPER_LIGHTNESS = quantity(10, 100, { label: 'Its lightness', unit: 'L*', step: 0.5, digits: 1 });

const AXES = labSchema.def.items.map((axis) => axis.quantity);

const AXIS_HINTS = ['From black to white.', 'From green to red.', 'From blue to yellow.'];

interface ColorControlProps {
  label: string;
  hint: string;
  lab: Lab;
  onChange: (lab: Lab) => void;
  /** The tint that was meant; null if that is of no interest. */
  wanted?: Lab | null;
  /** Where a tint can be wanted, the control unfolds to numbers and to a photograph. */
  onWantedChange?: (wanted: Lab | null) => void;
}

/** A colour: picked, typed in, or read off a photograph; and how near it is to the one that was meant. Kept as L*a*b* D65. */
export function ColorControl(props: ColorControlProps) {
  const { label, hint, lab, onChange, wanted = null, onWantedChange } = props;
  const swatch = <ColorSwatch label={label} hint={hint} lab={lab} onChange={onChange} />;
  if (!onWantedChange) return swatch;
  const change = (next: Lab) => onChange(held(next));
  return (
    <div className="color-full">
      {swatch}
      {onWantedChange && (
        <WantedTint lab={lab} wanted={wanted} onChange={(next) => onWantedChange(next === null ? null : held(next))} />
      )}
      <More label="By numbers or from a photograph">
        <LabFields lab={lab} onChange={change} />
        <PatchReader current={lab} onTake={change} />
      </More>
    </div>
  );
}

/** Within what a piece can keep. */
const held = (lab: Lab): Lab => AXES.map(({ low, high }, i) => Math.min(high, Math.max(low, lab[i]))) as unknown as Lab;

interface WantedTintProps {
  lab: Lab;
  wanted: Lab | null;
  onChange: (wanted: Lab | null) => void;
}

/** The tint that a colour was meant to be, and how far it is from it. */
function WantedTint({ lab, wanted, onChange }: WantedTintProps) {
  const away = wanted ? colorDifference(lab, wanted) : 0;
  return (
    <>
      <SwitchControl
        label="Compare with a wanted tint"
        hint="How far the dry coat is from what it was meant to be."
        value={wanted !== null}
        onChange={(on) => onChange(on ? lab : null)}
      />
      {wanted && (
        <>
          <ColorSwatch
            label="Meant to be"
            hint={`ΔE00 ${away.toFixed(1)} away: ${differenceWords(away)}.`}
            lab={wanted}
            onChange={onChange}
          />
          <More label="Wanted tint by numbers">
            <LabFields lab={wanted} onChange={onChange} />
          </More>
        </>
      )}
    </>
  );
}

interface PatchResultProps {
  reading: PatchReading | null;
  current: Lab;
  onTake: (lab: Lab) => void;
}

/** What a photograph says about the paint, beside the colour now; or why it says nothing. */
function PatchResult({ reading, current, onTake }: PatchResultProps) {
  return (
    <div className="patch-reading">
      <div role="status">
        {reading?.kind === 'refused' && <p className="warning">{reading.reason}</p>}
        {reading?.kind === 'color' && <Found lab={reading.lab} spread={reading.spread} current={current} />}
      </div>
      {reading?.kind === 'color' && (
        <Button className="wide" onPress={() => onTake(reading.lab)}>
          Take this colour
        </Button>
      )}
    </div>
  );
}

function Found({ lab, spread, current }: { lab: Lab; spread: number; current: Lab }) {
  const away = colorDifference(lab, current);
  return (
    <>
      <p className="patch-pair">
        <i style={{ background: labToHex(lab) }} aria-hidden="true" />
        <i style={{ background: labToHex(current) }} aria-hidden="true" />
        <span>
          L* {lab[0].toFixed(1)} a* {lab[1].toFixed(1)} b* {lab[2].toFixed(1)}
        </span>
      </p>
      <p className="plain">
        ΔE00 {away.toFixed(1)} from the colour now (right): {differenceWords(away)}. Within the rectangle it varies by
        ΔE {spread.toFixed(1)}.
      </p>
    </>
  );
}

type PatchPart = 'patch' | 'reference';

const PARTS: readonly { readonly id: PatchPart; readonly label: string; readonly says: string }[] = [
  { id: 'patch', label: 'Rectangle over the painted patch', says: 'Paint' },
  { id: 'reference', label: 'Rectangle over the white or grey reference', says: 'Reference' },
];

/** Pixels that a pointer must travel before it draws: a tap draws nothing. */
const LEAST_DRAG = 4;

interface PatchSheetProps {
  photo: HTMLCanvasElement;
  boxes: Readonly<Record<PatchPart, PatchBox>>;
  active: PatchPart;
  hintId: string;
  onActivate: (part: PatchPart) => void;
  onChange: (part: PatchPart, box: PatchBox) => void;
}

/** The photograph with its two rectangles: dragged on bare picture the active one is drawn anew, dragged itself one moves. */
function PatchSheet({ photo, boxes, active, hintId, onActivate, onChange }: PatchSheetProps) {
  const sheet = useRef<HTMLDivElement>(null);
  const drag = useRef<{ x: number; y: number; part: PatchPart; moves: PatchBox | null } | null>(null);

  const hold = useCallback((host: HTMLDivElement | null) => host?.replaceChildren(photo), [photo]);
  const shares = (event: PointerEvent): readonly [number, number, DOMRect] => {
    const bounds = (sheet.current as HTMLDivElement).getBoundingClientRect();
    return [(event.clientX - bounds.left) / bounds.width, (event.clientY - bounds.top) / bounds.height, bounds];
  };
  const begin = (event: PointerEvent, part: PatchPart, moves: PatchBox | null) => {
    event.stopPropagation();
    const [x, y] = shares(event);
    drag.current = { x, y, part, moves };
    event.currentTarget.setPointerCapture(event.pointerId);
  };
  const go = (event: PointerEvent) => {
    const from = drag.current;
    if (!from) return;
    event.stopPropagation();
    const [x, y, bounds] = shares(event);
    const [dx, dy] = [x - from.x, y - from.y];
    if (from.moves) {
      onChange(from.part, heldBox({ ...from.moves, x: from.moves.x + dx, y: from.moves.y + dy }));
    } else if (Math.abs(dx) * bounds.width >= LEAST_DRAG && Math.abs(dy) * bounds.height >= LEAST_DRAG) {
      const [left, top] = [Math.max(0, Math.min(x, from.x)), Math.max(0, Math.min(y, from.y))];
      const [right, bottom] = [Math.min(1, Math.max(x, from.x)), Math.min(1, Math.max(y, from.y))];
      onChange(from.part, heldBox({ x: left, y: top, width: right - left, height: bottom - top }));
    }
  };
  const end = () => {
    drag.current = null;
  };

  return (
    <div
      ref={sheet}
      className="patch-sheet"
      onPointerDown={(event) => begin(event, active, null)}
      onPointerMove={go}
      onPointerUp={end}
      onPointerCancel={end}
    >
      <div className="patch-sheet-photo" ref={hold} />
      {PARTS.map(({ id, label, says }) => {
        const { x, y, width, height } = boxes[id];
        const [left, top, wide, high] = [x, y, width, height].map((share) => Math.round(100 * share));
        return (
          <div
            key={id}
            role="slider"
            tabIndex={0}
            className={`patch-sheet-box${id === active ? ' patch-sheet-box-active' : ''}`}
            style={{ left: `${100 * x}%`, top: `${100 * y}%`, width: `${100 * width}%`, height: `${100 * height}%` }}
            aria-label={label}
            aria-describedby={hintId}
            aria-valuemin={0}
            aria-valuemax={100}
            aria-valuenow={left}
            aria-valuetext={`${left} % from the left, ${top} % from the top, ${wide} % wide, ${high} % high`}
            onFocus={() => onActivate(id)}
            onKeyDown={(event) => {
              if (event.ctrlKey || event.metaKey || event.altKey) return;
              const next = boxByKey(boxes[id], event.key, event.shiftKey);
              if (!next) return;
              event.preventDefault();
              onChange(id, next);
            }}
            onPointerDown={(event) => begin(event, id, boxes[id])}
          >
            <span aria-hidden="true">{says}</span>
          </div>
        );
      })}
    </div>
  );
}

const START: Readonly<Record<PatchPart, PatchBox>> = {
  patch: { x: 0.2, y: 0.4, width: 0.2, height: 0.2 },
  reference: { x: 0.6, y: 0.4, width: 0.2, height: 0.2 },
};

interface PatchReaderProps {
  current: Lab;
  onTake: (lab: Lab) => void;
}

/** Reads a colour off a photograph of a dry painted patch with a white or grey reference beside it. It stays on the page. */
function PatchReader({ current, onTake }: PatchReaderProps) {
  const hintId = useId();
  const latest = useRef(0);
  const [photo, setPhoto] = useState<HTMLCanvasElement | null>(null);
  const [fault, setFault] = useState<string | null>(null);
  const [boxes, setBoxes] = useState(START);
  const [active, setActive] = useState<PatchPart>('patch');
  const [reference, setReference] = useState<PatchReferenceId>('paper');
  const [lightness, setLightness] = useState(90);
  const [reading, setReading] = useState<PatchReading | null>(null);

  const open = async (file: File) => {
    const turn = ++latest.current;
    try {
      const opened = await openPatchPhoto(file);
      if (turn !== latest.current) return;
      setPhoto(opened);
      setBoxes(START);
      setActive('patch');
      setReading(null);
      setFault(null);
    } catch (error) {
      const why = error instanceof Error ? error.message : 'cannot be read. Save it as JPEG or PNG.';
      if (turn === latest.current) setFault(`“${file.name}” ${why}`);
    }
  };

  useEffect(() => {
    if (!photo) return;
    // Gathers quick moves: a reading takes some milliseconds.
    const timer = setTimeout(() => {
      const mean = (box: PatchBox) => {
        const context = photo.getContext('2d');
        return meanPatch(context?.getImageData(...boxPixels(box, photo.width, photo.height)).data ?? []);
      };
      setReading(colorFromPhoto(mean(boxes.patch), mean(boxes.reference), referenceLab(reference, lightness)));
    }, 60);
    return () => clearTimeout(timer);
  }, [photo, boxes, reference, lightness]);

  return (
    <div className="patch-reader">
      <OpenButton types={['image/jpeg', 'image/png', 'image/webp']} onFile={open}>
        From a photograph…
      </OpenButton>
      <Fault words={fault} />
      {!photo && (
        <p className="hint">A dry painted patch with white paper or a grey card beside it, in even daylight.</p>
      )}
      {photo && (
        <>
          <PairSwitch
            label="Draw round"
            value={active}
            options={[
              { id: 'patch', label: 'Paint' },
              { id: 'reference', label: 'Reference' },
            ]}
            onChange={setActive}
          />
          <PatchSheet
            photo={photo}
            boxes={boxes}
            active={active}
            hintId={hintId}
            onActivate={setActive}
            onChange={(part, box) => setBoxes((old) => ({ ...old, [part]: box }))}
          />
          <p className="hint" id={hintId}>
            Drag to draw a rectangle, or drag one to move it. Arrow keys move it, with Shift they change its size.
          </p>
          <ChoiceControl label="Reference" value={reference} choices={PATCH_REFERENCES} onChange={setReference} />
          {reference === 'typed' && (
            <ValueControl
              of={PAPER_LIGHTNESS}
              hint="As its data sheet or an instrument says."
              value={lightness}
              onChange={setLightness}
            />
          )}
          <PatchResult reading={reading} current={current} onTake={onTake} />
        </>
      )}
    </div>
  );
}

interface ColorSwatchProps {
  label: string;
  hint: string;
  lab: Lab;
  onChange: (lab: Lab) => void;
}

/** A colour by the browser's own picker. Quick moves in the picker are gathered before they are passed on. */
function ColorSwatch({ label, hint, lab, onChange }: ColorSwatchProps) {
  const id = useId();
  const settled = labToHex(lab);
  const [shown, setShown] = useState(settled);
  useEffect(() => setShown(settled), [settled]);
  useEffect(() => {
    if (shown === settled) return;
    const timer = setTimeout(() => onChange(hexToLab(shown)), 120);
    return () => clearTimeout(timer);
  });
  const [l, a, b] = lab;
  return (
    <div className="color-control">
      <label htmlFor={id}>
        {label}
        <PartHeard />
      </label>
      <span className="color-box">
        <input
          id={id}
          type="color"
          value={shown}
          onChange={(event) => setShown(event.target.value)}
          aria-describedby={`${id}-hint`}
        />
        <span className="unit">
          L* {l.toFixed(0)} a* {a.toFixed(0)} b* {b.toFixed(0)}
        </span>
      </span>
      <p className="hint" id={`${id}-hint`}>
        {hint}
      </p>
    </div>
  );
}

/** A rectangle on a photograph, in shares of its width and height. */
interface PatchBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const LEAST = 0.01;

/** Kept on the photograph, and large enough to be seen. */
function heldBox({ x, y, width, height }: PatchBox): PatchBox {
  const w = Math.min(1, Math.max(LEAST, width));
  const h = Math.min(1, Math.max(LEAST, height));
  return { width: w, height: h, x: Math.min(1 - w, Math.max(0, x)), y: Math.min(1 - h, Math.max(0, y)) };
}

/** What an arrow key makes of a rectangle: it moves by a hundredth, or with `resize` its far corner does. Null for other keys. */
export function boxByKey(box: PatchBox, key: string, resize: boolean): PatchBox | null {
  const arrow = ARROWS[key];
  if (!arrow) return null;
  const [dx, dy] = [arrow[0] * LEAST, arrow[1] * LEAST];
  if (!resize) return heldBox({ ...box, x: box.x + dx, y: box.y + dy });
  return heldBox({
    ...box,
    // The near corner stays where it is.
    width: Math.min(1 - box.x, box.width + dx),
    height: Math.min(1 - box.y, box.height + dy),
  });
}

/** Pixels that a rectangle covers on a canvas: at least one. */
export function boxPixels(box: PatchBox, width: number, height: number): readonly [number, number, number, number] {
  const left = Math.min(width - 1, Math.floor(box.x * width));
  const top = Math.min(height - 1, Math.floor(box.y * height));
  return [
    left,
    top,
    Math.max(1, Math.min(width - left, Math.round(box.width * width))),
    Math.max(1, Math.min(height - top, Math.round(box.height * height))),
  ];
}

/** A colour as an instrument prints it. */
function LabFields({ lab, onChange }: { lab: Lab; onChange: (lab: Lab) => void }) {
  const [light, setLight] = useState<'D65' | 'D50'>('D65');
  const shown = light === 'D65' ? lab : labToD50(lab);
  return (
    <>
      <PairSwitch
        label="Measured under"
        value={light}
        options={[
          { id: 'D65', label: 'D65' },
          { id: 'D50', label: 'D50' },
        ]}
        onChange={setLight}
        hint="As the instrument says; mirror reflection included."
      />
      {AXES.map((axis, i) => (
        <ValueControl
          key={axis.label}
          of={axis}
          hint={AXIS_HINTS[i]}
          value={shown[i]}
          onChange={(value) => {
            const next = shown.map((old, other) => (other === i ? value : old)) as unknown as Lab;
            onChange(light === 'D65' ? next : labFromD50(next));
          }}
        />
      ))}
    </>
  );
}
