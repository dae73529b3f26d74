import { useEffect, useRef, useState } from 'react';
import { Button, Label, Text, TextArea, TextField } from 'react-aria-components';
import { areaMm2, boundsMm, type Point, type Polygon, perimeterMm } from '../../../base/geometry/outline.ts';
import { findCrossing } from '../../../base/geometry/raster-mask.ts';
import { quantity } from '../../../base/quantity.ts';
import type { Defect } from '../../../vision/slab/defects.ts';
import { DISTORTION } from '../../../vision/slab/rectify.ts';
import { moveHandle } from '../../../vision/slab/slab-part.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { OpenButton, PhotoDrop } from '../../fields/OpenButton.tsx';
import { More, SheetDialog, SheetTable } from '../../fields/SheetDialog.tsx';
import { Fault } from '../../fields/TaskProgress.tsx';
import { ChoiceControl, SwitchControl, useLengthText, ValueControl } from '../../fields/ValueControl.tsx';
import { PHOTO_TYPES } from '../../store/files.ts';
import { Handle, Magnifier, Sheet } from './Sheet.tsx';
import {
  cancelSlabWork,
  findOutline,
  keepSlabPhoto,
  openOutline,
  openSlabPhoto,
  pasteOutline,
  readRimAnew,
  smoothFound,
  takeOver,
  turnFound,
} from './slab-photo-actions.ts';
import {
  type Draft,
  editDraft,
  editMarks,
  editWork,
  finding,
  MARK_NAMES,
  redoWork,
  type SlabPhoto,
  setSlabPhoto,
  undoWork,
  useSlabPhotoStore,
} from './slab-photo-store.ts';
import './slab-photo.css';

/** From a photograph of the slab to its outline at true size. Closing keeps everything as it is. */
export function SlabPhotoDialog() {
  const open = useSlabPhotoStore((state) => state.open);
  useEffect(() => inBackground(keepSlabPhoto()), []);
  return (
    <SheetDialog label="The slab from a photograph" isOpen={open} onClose={() => setSlabPhoto({ open: false })}>
      <Body />
    </SheetDialog>
  );
}

function Body() {
  const photo = useSlabPhotoStore((state) => state.photo);
  const work = useSlabPhotoStore((state) => state.work);
  const past = useSlabPhotoStore((state) => state.past);
  const future = useSlabPhotoStore((state) => state.future);
  const busy = finding.use((state) => state.busy);
  const fault = finding.use((state) => state.fault);
  const draft = work.shows === 'outline' ? work.draft : null;
  return (
    <SheetTable
      title="The slab from a photograph"
      steps={{
        canUndo: past.length > 0 && busy === null,
        canRedo: future.length > 0 && busy === null,
        undo: unlessBusy(undoWork),
        redo: unlessBusy(redoWork),
      }}
      onClose={() => setSlabPhoto({ open: false })}
    >
      <PhotoDrop className="sheet-place" of={finding} onPhoto={openSlabPhoto}>
        {draft ? <OutlineSheet draft={draft} /> : photo ? <MarkSheet photo={photo} /> : <Empty />}
      </PhotoDrop>
      <aside className="sheet-panel photo-panel" aria-label="From photograph to outline">
        <div role="status">{busy && <p className="photo-busy">{busy}…</p>}</div>
        <Fault words={fault} />
        {draft ? (
          <OutlinePanel draft={draft} />
        ) : (
          <>
            <OpenButton types={PHOTO_TYPES} isDisabled={busy !== null} onFile={openSlabPhoto}>
              {photo ? 'Another photograph…' : 'Open a photograph…'}
            </OpenButton>
            {photo && <MarkPanel photo={photo} />}
            <PasteOutline isDisabled={busy !== null} />
          </>
        )}
      </aside>
    </SheetTable>
  );
}

const Empty = () => (
  <div className="photo-empty">
    <h3>Lay the slab on a plain table and photograph it from above</h3>
    <p>
      A table of another colour than the bark, seen all round the slab. Light from all sides, no hard shadow. Beside the
      slab, level with its face, something of known size: a bank card, a rectangle, a ruler.
    </p>
    <p>Open the photograph, or drop it here. It stays on this computer.</p>
  </div>
);

const unlessBusy = (act: () => void) => () => {
  if (finding.state().busy === null) act();
};

/** The photograph with the marks that give the scale. */
function MarkSheet({ photo }: { photo: SlabPhoto }) {
  const { kind, points } = useSlabPhotoStore((state) => state.work.marks);
  const active = useSlabPhotoStore((state) => state.active);
  const view = { left: 0, top: 0, right: photo.width, bottom: photo.height };
  const marks = points[kind];
  const move = (index: number, [x, y]: Point, gesture: string | null) => {
    const held: Point = [Math.min(view.right, Math.max(0, x)), Math.min(view.bottom, Math.max(0, y))];
    editMarks({ points: { ...points, [kind]: marks.map((mark, i) => (i === index ? held : mark)) } }, gesture);
    if (index !== active) setSlabPhoto({ active: index });
  };
  const bringNearest = (at: Point) => {
    const far = marks.map(([x, y]) => Math.hypot(x - at[0], y - at[1]));
    move(far.indexOf(Math.min(...far)), at, null);
  };
  const line = marks.map(([x, y]) => `${x},${y}`).join(' ');
  return (
    <Sheet
      label="Photograph with marks"
      view={view}
      picture={{ quarters: 0, bitmap: photo.bitmap, box: view }}
      onPress={bringNearest}
    >
      <svg className="photo-lines" viewBox={`0 0 ${photo.width} ${photo.height}`} aria-hidden="true">
        {['photo-line-under', 'photo-line'].map((name) => (
          <polygon key={name} className={name} points={line} />
        ))}
      </svg>
      {marks.map((at, i) => (
        <Handle
          key={MARK_NAMES[kind][i]}
          label={MARK_NAMES[kind][i]}
          at={at}
          view={view}
          place={`${at[0].toFixed(1)} across, ${at[1].toFixed(1)} down`}
          step={0.5}
          shiftStep={10}
          active={i === active}
          onFocus={() => setSlabPhoto({ active: i })}
          onMove={(to, gesture) => move(i, to, gesture)}
        />
      ))}
    </Sheet>
  );
}

const KINDS = [
  { id: 'card', label: 'A bank card', note: 'Any card of 85.6 × 53.98 mm (ISO/IEC 7810 ID-1). Mark its four corners.' },
  {
    id: 'rectangle',
    label: 'A rectangle of known size',
    note: 'A sheet, a frame, four measured points. Mark its corners.',
  },
  { id: 'ruler', label: 'A ruler', note: 'Two marks on it. Only for photographs taken from straight above.' },
] as const;

const SIZES = [
  { key: 'widthMm', label: 'Its width', hint: 'From its top left to its top right corner.' },
  { key: 'heightMm', label: 'Its height', hint: 'From its top right to its bottom right corner.' },
] as const;

const TRUE_LENGTH = quantity(0, 3000, { label: 'Length', unit: 'mm', step: 1, digits: 1, sliderHigh: 600 });

/** What gives the photo its scale. */
function MarkPanel({ photo }: { photo: SlabPhoto }) {
  const marks = useSlabPhotoStore((state) => state.work.marks);
  const found = useSlabPhotoStore((state) => state.work.draft !== null);
  const busy = finding.use((state) => state.busy !== null);
  const length = (key: 'widthMm' | 'heightMm' | 'lengthMm', label: string, hint: string) => (
    <ValueControl
      key={key}
      of={{ ...TRUE_LENGTH, label }}
      hint={hint}
      value={marks[key]}
      onChange={(mm) => editMarks({ [key]: mm }, key)}
    />
  );
  return (
    <>
      <ChoiceControl
        label="What gives the scale"
        value={marks.kind}
        choices={KINDS}
        onChange={(kind) => {
          editMarks({ kind });
          setSlabPhoto({ active: 0 });
        }}
      />
      {marks.kind === 'rectangle' && SIZES.map(({ key, label, hint }) => length(key, label, hint))}
      {marks.kind === 'ruler' && length('lengthMm', 'Between the marks', 'Read it off the ruler.')}
      {marks.kind === 'card' && (
        <p className="plain">
          {photo.hasCard
            ? 'A card was found: see that the lines lie on its edges, and drag the corners where they do not. They meet where the edges would, beyond the card’s round corners.'
            : 'No card was found by itself. Drag the four corners to where its edges would meet, beyond its round corners.'}
        </p>
      )}
      <Magnifier photo={photo} />
      <p className="hint">
        Drag the marks, or press on the photograph and the nearest one comes. Arrow keys move a mark by half a pixel of
        the photo, with Shift by ten. The scale must lie level with the slab’s face: on the table below it, the slab
        comes out too large.
      </p>
      {/* One button for both, so that the keyboard stays where it is. */}
      <Button className="wide sheet-main" onPress={() => (busy ? cancelSlabWork() : inBackground(findOutline()))}>
        {busy ? 'Stop' : 'Find the outline'}
      </Button>
      {found && (
        <Button className="wide" isDisabled={busy} onPress={() => editWork({ shows: 'outline' })}>
          Back to the outline
        </Button>
      )}
      <More label="Lens">
        <ValueControl
          of={DISTORTION}
          hint="Straightens what a lens bends outwards (below 0) or inwards (above 0); 0 leaves it."
          value={marks.k1}
          onChange={(k1) => editMarks({ k1 }, 'k1')}
        />
      </More>
    </>
  );
}

/** Rest after a move before the rim is read anew. */
const SETTLE_MS = 350;

/** The slab laid flat, with its outline, the masking line and what is suggested on it. */
function OutlineSheet({ draft }: { draft: Draft }) {
  const { outline, handles, view, face, rim } = draft;
  useRimReading(draft);
  const reachMm = perimeterMm(outline) / handles.length;
  const crossing = findCrossing(outline);
  /** A handle stays on the sheet, or nobody could fetch it back. */
  const move = (index: number, [x, y]: Point, gesture: string) => {
    const dxMm = Math.min(view.right, Math.max(view.left, x)) - outline[index][0];
    const dyMm = Math.min(view.bottom, Math.max(view.top, y)) - outline[index][1];
    editDraft({ outline: moveHandle(outline, index, { dxMm, dyMm, reachMm }).outline }, gesture);
  };
  return (
    <Sheet
      label="The slab laid flat, with its outline"
      view={view}
      picture={
        face && {
          bitmap: face.bitmap,
          quarters: face.quarters,
          box: {
            left: face.leftMm,
            top: face.topMm,
            right: face.leftMm + face.widthMm,
            bottom: face.topMm + face.heightMm,
          },
        }
      }
    >
      <svg
        className="photo-lines"
        viewBox={`${view.left} ${view.top} ${view.right - view.left} ${view.bottom - view.top}`}
        aria-hidden="true"
      >
        {rim && draft.tapeRim && <polygon className="photo-mask" points={text(rim.paintable)} />}
        <polygon className="photo-line-under" points={text(outline)} />
        <polygon className="photo-line" points={text(outline)} />
        {draft.defects.map(({ defect, on }, i) => (
          <g
            // biome-ignore lint/suspicious/noArrayIndexKey: the list never changes its order
            key={i}
            className={on ? 'photo-defect' : 'photo-defect photo-defect-off'}
            transform={`translate(${defect.xMm} ${defect.yMm})`}
          >
            {defect.kind === 'knot' ? (
              <circle r={defect.diameterMm / 2} />
            ) : (
              <rect
                transform={`rotate(${(180 * defect.headingRad) / Math.PI})`}
                x={-defect.lengthMm / 2 - 1}
                y={-defect.widthMm / 2 - 1}
                width={defect.lengthMm + 2}
                height={defect.widthMm + 2}
                rx={1}
              />
            )}
          </g>
        ))}
        {crossing && <circle className="photo-crossing" cx={crossing.at[0]} cy={crossing.at[1]} r={reachMm / 8} />}
      </svg>
      {handles.map((index, i) => (
        <Handle
          key={index}
          label={`Outline, handle ${i + 1} of ${handles.length}`}
          at={outline[index]}
          view={view}
          place={`${outline[index].map((mm) => mm.toFixed(1)).join(' across, ')} mm down`}
          step={0.5}
          shiftStep={5}
          dot
          onMove={(to, gesture) => move(index, to, gesture)}
        />
      ))}
    </Sheet>
  );
}

/** Reads the rim anew once an outline that has been moved rests and does not cross itself. */
function useRimReading(draft: Draft): void {
  useEffect(() => {
    if (!draft.face || draft.rimOf === draft.outline || findCrossing(draft.outline)) return;
    const timer = setTimeout(() => inBackground(readRimAnew(draft)), SETTLE_MS);
    return () => clearTimeout(timer);
  }, [draft]);
}

const text = (line: Polygon): string => line.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(' ');

/** What was found, what of it is wanted, and the way on. */
function OutlinePanel({ draft }: { draft: Draft }) {
  const photo = useSlabPhotoStore((state) => state.photo !== null);
  const busy = finding.use((state) => state.busy !== null);
  const length = useLengthText();
  const { outline, rim, defects } = draft;
  const { left, top, right, bottom } = boundsMm(outline);
  const size = `${length(right - left)} × ${length(bottom - top)}`;
  const crosses = findCrossing(outline) !== null;
  const head = useRef<HTMLDivElement>(null);
  // The button that led here is gone: the keyboard goes on from the top, and a screen reader says what was found.
  useEffect(() => head.current?.focus(), []);
  const rimMm = rim?.maskedRimMm ?? null;
  return (
    <>
      <div ref={head} tabIndex={-1} className="photo-found">
        <p className="photo-size">{size}</p>
        <p className="plain">{(areaMm2(outline) / 100).toFixed(0)} cm² inside the outline</p>
      </div>
      <div>
        <div className="button-row">
          <Button className="wide" isDisabled={busy} onPress={() => turnFound(draft, -1)}>
            Turn left
          </Button>
          <Button className="wide" isDisabled={busy} onPress={() => turnFound(draft, 1)}>
            Turn right
          </Button>
        </div>
        <p className="hint">By a quarter of a turn, until the top is up.</p>
      </div>
      <div>
        <Button className="wide" isDisabled={busy || crosses} onPress={() => smoothFound(draft)}>
          Smooth the outline
        </Button>
        <p className="hint">Takes small notches and grain of the edge out of it; each press a little more.</p>
      </div>
      {crosses && (
        <p className="warning" role="alert">
          The outline crosses itself where the ring is drawn. Move the handles there apart, or take back the last step.
        </p>
      )}
      {[...draft.notes, ...(rim?.notes ?? [])].map((note) => (
        <p key={note} className="hint">
          {note}
        </p>
      ))}
      {rimMm !== null && (
        <SwitchControl
          label={`Tape off the rim, ${length(rimMm)}`}
          hint="The dashed masking line runs a little onto the dark rim; outside it the wood stays bare."
          value={draft.tapeRim}
          onChange={(tapeRim) => editDraft({ tapeRim })}
        />
      )}
      {defects.length > 0 && (
        <fieldset className="photo-defects">
          <legend>Seen on the face</legend>
          {defects.map(({ defect, on }, i) => (
            <SwitchControl
              // biome-ignore lint/suspicious/noArrayIndexKey: the list never changes its order
              key={i}
              label={`${defect.kind === 'knot' ? 'Knot' : 'Drying check'}, ${length(sizeOf(defect))}`}
              hint={placeOf(defect, draft, length)}
              value={on}
              onChange={(next) =>
                editDraft({ defects: defects.map((one, k) => (k === i ? { ...one, on: next } : one)) })
              }
            />
          ))}
        </fieldset>
      )}
      <p className="hint">
        Drag the sixteen handles where the outline is off; their neighbours follow. Arrow keys move one by 0.5 mm, with
        Shift by 5 mm.
      </p>
      {/* One button for both, so that the keyboard stays where it is. */}
      <Button
        className="wide sheet-main"
        isDisabled={crosses}
        onPress={() => (busy ? cancelSlabWork() : inBackground(takeOver(draft, size)))}
      >
        {busy ? 'Stop' : 'Use this slab'}
      </Button>
      <Button className="wide" isDisabled={busy} onPress={() => editWork({ shows: 'marks' })}>
        {photo ? 'Back to the photograph' : 'Back'}
      </Button>
    </>
  );
}

const sizeOf = (defect: Defect): number => (defect.kind === 'knot' ? defect.diameterMm : defect.lengthMm);

/** From the middle of the outline's box. */
function placeOf(defect: Defect, { outline }: Draft, length: (mm: number) => string): string {
  const { left, top, right, bottom } = boundsMm(outline);
  const x = defect.xMm - (left + right) / 2;
  const y = defect.yMm - (top + bottom) / 2;
  return `${length(Math.abs(x))} ${x < 0 ? 'left of' : 'right of'} and ${length(Math.abs(y))} ${y < 0 ? 'above' : 'below'} the middle.`;
}

/** The other way: an outline that has been drawn already. */
function PasteOutline({ isDisabled }: { isDisabled: boolean }) {
  const [text, setText] = useState('');
  return (
    <More label="Instead: an outline already drawn">
      <TextField className="photo-paste" value={text} onChange={setText}>
        <Label>Path</Label>
        <TextArea rows={4} spellCheck="false" placeholder="M 0 0 H 240 V 180 H 0 Z" />
        <Text slot="description" className="hint">
          What stands in the d of an SVG path, in mm, or a whole SVG with its size.
        </Text>
      </TextField>
      <div className="button-row">
        <Button className="wide" isDisabled={isDisabled} onPress={() => inBackground(pasteOutline(text))}>
          Use this path
        </Button>
        <OpenButton types={['.svg', 'image/svg+xml']} isDisabled={isDisabled} onFile={openOutline}>
          Open an SVG…
        </OpenButton>
      </div>
    </More>
  );
}
