import {
  type CSSProperties,
  type Dispatch,
  type KeyboardEvent,
  type PointerEvent,
  type ReactNode,
  type SetStateAction,
  useEffect,
  useMemo,
  useRef,
  useState,
} from 'react';
import { Button, Dialog, Heading, Modal, ModalOverlay } from 'react-aria-components';
import { simplifyLine } from '../../../base/geometry/outline.ts';
import { quantity } from '../../../base/quantity.ts';
import { createRemote, type Remote } from '../../../base/remote/remote.ts';
import { paintStrokes } from '../../../image/mask/brush.ts';
import { layMatte } from '../../../image/mask/lay-matte.ts';
import { applyVignette } from '../../../image/mask/vignette.ts';
import { marksInCut, marksOutOfCut, strokesOutOfCut } from '../../../piece/frame.ts';
import type { BrushStroke, Cut, PictureMatte, PictureSettings, Piece, Tiles } from '../../../piece/schema.ts';
import { unpackTiles } from '../../../piece/tiles.ts';
import { ARROWS } from '../../../render/gestures.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { SheetTable } from '../../fields/SheetDialog.tsx';
import { TaskProgress } from '../../fields/TaskProgress.tsx';
import { PairSwitch, useLengthText, ValueControl } from '../../fields/ValueControl.tsx';
import { cutBitmap } from '../../files/cut-bitmap.ts';
import { type Task, useTask } from '../../remote/task.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { type OpenPhoto, usePieceStore } from '../../store/piece-store.ts';
import type { MaskSaving } from './mask-saving.ts';
import type { MaskQuestions } from './messages.ts';
import { MOST_STROKES, type StrokePoint, splitPoints } from './stroke-points.ts';

interface MaskTableProps {
  photo: OpenPhoto;
  decoded: MaskPhoto | string | null;
  draft: MaskDraft;
  onDraft: Dispatch<SetStateAction<MaskDraft>>;
  /** Closing was asked for while there are strokes that the piece does not have. */
  isLeaving: boolean;
  onLeave: () => void;
  onStay: () => void;
  onClose: () => void;
}

/** The photograph with its veil, and beside it what works on the mask. */
export function MaskTable({ photo, decoded, draft, onDraft, isLeaving, onLeave, onStay, onClose }: MaskTableProps) {
  const piece = usePieceStore((state) => state.piece);
  const [brush, setBrush] = useState<Brush>(() => firstBrush(piece.picture.widthMm));
  const [marker, setMarker] = useState<Brush>(() => ({
    ...brush,
    sizeMm: Math.max(0.5, Math.round(brush.sizeMm / 4)),
  }));
  const [job, setJob] = useState<'brush' | 'background'>('brush');
  const [marking, setMarking] = useState<'stays' | 'goes'>('stays');
  const client = useMaskClient();
  const small = decoded && typeof decoded !== 'string' ? decoded.small : null;
  const task = useFoundEdge(client, small, draft, onDraft);
  const { strokes, marks, matte } = draft;
  const masked = useMemo(
    () => maskedPicture(piece.picture, { strokes, marks, matte }),
    [piece.picture, strokes, marks, matte],
  );
  const saving = useMaskSaving(client, piece, photo, masked);
  const isByHand = job === 'brush';
  const full = isByHand ? strokes.length >= MOST_STROKES : marks.length >= MOST_MARKS;
  const shape = useMemo((): BrushShape => {
    const { widthMm } = piece.picture;
    return isByHand ? brushOf(brush, widthMm) : { does: marking, radius: brushOf(marker, widthMm).radius, hardness: 1 };
  }, [brush, marker, isByHand, marking, piece.picture]);

  const back = () => onDraft((now) => undoDraft(now) ?? now);
  const forth = () => onDraft((now) => redoDraft(now) ?? now);
  const add = (more: readonly DrawnStroke[]) =>
    onDraft((now) => {
      const painted = more.filter(isPainted);
      const marked = more.flatMap(({ does, points, radius }) =>
        does === 'stays' || does === 'goes' ? [{ stays: does === 'stays', points, radius }] : [],
      );
      if (now.strokes.length + painted.length > MOST_STROKES || now.marks.length + marked.length > MOST_MARKS)
        return now;
      if (marked.length === 0) return draw(now, { strokes: [...now.strokes, ...painted] });
      return draw(now, { marks: [...now.marks, ...marksOutOfCut(marked, piece.picture.cut)], matte: null });
    });
  const takeOver = () => {
    usePieceStore.getState().change((now) => ({ ...now, picture: masked }));
    onClose();
  };
  return (
    <SheetTable
      title="Mask"
      beside={<p className="plain">Under the grey veil nothing is burned.</p>}
      steps={{ canUndo: draft.past.length > 0, canRedo: draft.future.length > 0, undo: back, redo: forth }}
      actions={
        <Button
          className="quiet"
          isDisabled={strokes.length === 0 && marks.length === 0}
          onPress={() => onDraft((now) => draw(now, { strokes: [], marks: [], matte: null }))}
        >
          Clear
        </Button>
      }
    >
      <div className="sheet-place">
        {typeof decoded === 'string' && <p className="mask-fault">{decoded}</p>}
        {decoded === null && <p className="mask-fault">Opening the photograph…</p>}
        {decoded && typeof decoded !== 'string' && (
          <MaskSheet
            bitmap={decoded.bitmap}
            picture={piece.picture}
            strokes={strokes}
            matte={matte}
            marks={isByHand ? NO_MARKS : marks}
            brush={shape}
            isFull={full}
            onStrokes={add}
          />
        )}
      </div>
      <aside className="sheet-panel mask-panel" aria-label="Brush and background">
        <div className="mask-controls">
          <PairSwitch
            label="Work"
            value={job}
            options={[
              { id: 'brush', label: 'By hand' },
              { id: 'background', label: 'Find the edge' },
            ]}
            onChange={setJob}
            hint={
              isByHand
                ? 'Paint over what is not to be burned.'
                : 'Mark what stays and what goes; ears and hair keep their edge.'
            }
          />
          {!isByHand && (
            <BackgroundControls marking={marking} onMarking={setMarking} task={task} draft={draft} onDraft={onDraft} />
          )}
          <BrushControls
            brush={isByHand ? brush : marker}
            isByHand={isByHand}
            widthMm={piece.picture.widthMm}
            onChange={isByHand ? setBrush : setMarker}
          />
        </div>
        <footer className="mask-foot">
          <div role="status">
            {saving && !saving.nothing && <p className="mask-saving">{savingWords(saving.savedS)}</p>}
            {isByHand && <p className="plain">{strokeWords(strokes.length)}</p>}
          </div>
          <div role="alert">
            {saving?.nothing && (
              <p className="warning">{NOTHING_LEFT} Undo a step, clear the mask, or give some back.</p>
            )}
            {full && (
              <p className="warning">
                This mask is full: a piece keeps {isByHand ? `${MOST_STROKES} strokes` : `${MOST_MARKS} marks`}. Undo
                some or clear it.
              </p>
            )}
          </div>
          <div className="button-row">
            <Button className="wide" onPress={onLeave}>
              Cancel
            </Button>
            <Button
              className="wide sheet-main"
              isDisabled={saving === null || saving.nothing || draft.past.length === 0}
              onPress={takeOver}
            >
              Use this mask
            </Button>
          </div>
        </footer>
      </aside>
      {isLeaving && (
        <LeaveMask
          fault={saving?.nothing ? NOTHING_LEFT : null}
          isBusy={saving === null}
          onKeep={takeOver}
          onThrowAway={onClose}
          onStay={onStay}
        />
      )}
    </SheetTable>
  );
}

/** The piece's limit. */
const MOST_MARKS = 200;

const NO_MARKS: Marks = [];

/** The picture with the mask that is worked on. */
const maskedPicture = (picture: PictureSettings, { strokes, marks, matte }: MaskState): PictureSettings => ({
  ...picture,
  strokes: [...strokesOutOfCut(strokes, picture.cut)],
  matte: matte && { tiles: matte, marks: [...marks] },
});

const isPainted = (stroke: DrawnStroke): stroke is BrushStroke => stroke.does === 'erase' || stroke.does === 'restore';

const NOTHING_LEFT = 'Nothing would be burned: the mask leaves none of the picture that lies on the slab.';

const strokeWords = (count: number): string =>
  count === 0 ? 'No strokes yet.' : count === 1 ? 'One stroke.' : `${count} strokes.`;

/** “About 18 minutes less than the full rectangle.” */
export function savingWords(savedS: number): string {
  const minutes = Math.round(savedS / 60);
  if (savedS < 10) return 'As long as the full rectangle: rows get shorter from their ends only.';
  const amount =
    savedS < 55
      ? `${10 * Math.round(savedS / 10)} seconds`
      : minutes < 60
        ? plural(minutes, 'minute')
        : `${plural(Math.floor(minutes / 60), 'hour')}${minutes % 60 ? ` ${plural(minutes % 60, 'minute')}` : ''}`;
  return `About ${amount} less than the full rectangle.`;
}

const plural = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;

interface BrushRingProps {
  at: StrokePoint;
  brush: BrushShape;
  /** Height of the sheet over its width. */
  tall: number;
}

/** Where the brush is and how far it reaches; the inner ring is where it begins to fade. */
export function BrushRing({ at: [x, y], brush: { does, radius, hardness }, tall }: BrushRingProps) {
  return (
    <i
      className={`mask-ring mask-ring-${does}`}
      aria-hidden="true"
      style={{ left: `${100 * x}%`, top: `${(100 * y) / tall}%`, width: `${200 * radius}%` }}
    >
      {hardness > 0.05 && hardness < 0.98 && <i style={{ inset: `${50 * (1 - hardness)}%` }} />}
    </i>
  );
}

/** Warm grey, and how much of it lies over what is taken away wholly. */
const GREY = [170, 162, 152] as const;

const COVER = 0.86;

/** Draws what a mask takes away onto a canvas of its size; `live` strokes are not kept. */
function drawVeil(
  canvas: HTMLCanvasElement,
  pixels: MaskPixels,
  strokes: readonly BrushStroke[],
  live: readonly BrushStroke[],
): void {
  const context = canvas.getContext('2d');
  if (!context) return;
  const { width, height } = canvas;
  const kept = pixels.paint(strokes);
  const mask = live.length > 0 ? paintStrokes(kept, width, height, live) : kept;
  const image = context.createImageData(width, height);
  for (let i = 0; i < mask.length; i++) {
    image.data.set(GREY, 4 * i);
    image.data[4 * i + 3] = COVER * (255 - Math.min(mask[i], pixels.crop[i]));
  }
  context.putImageData(image, 0, 0);
}

interface LeaveMaskProps {
  /** Why the strokes cannot be kept, if they cannot. */
  fault: string | null;
  isBusy: boolean;
  onKeep: () => void;
  onThrowAway: () => void;
  onStay: () => void;
}

/** Asked when the dialog is closed with strokes that the piece does not have yet. */
function LeaveMask({ fault, isBusy, onKeep, onThrowAway, onStay }: LeaveMaskProps) {
  return (
    <ModalOverlay className="mask-leave-veil" isOpen onOpenChange={(open) => !open && onStay()}>
      <Modal className="mask-leave">
        <Dialog role="alertdialog" className="mask-leave-dialog">
          <Heading slot="title">Keep the new strokes?</Heading>
          <p>{fault ?? 'The mask was changed and not taken over yet.'}</p>
          <Button className="wide sheet-main" isDisabled={isBusy || fault !== null} onPress={onKeep} autoFocus>
            Keep
          </Button>
          <Button className="wide" onPress={onThrowAway}>
            Throw away
          </Button>
          <Button className="wide" onPress={onStay}>
            Go on painting
          </Button>
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

/** A pause in painting after which the time is worked out. */
const PAUSE_MS = 120;

/** What the mask would save; null until it is known for this very mask. */
function useMaskSaving(
  client: MaskClient | null,
  piece: Piece,
  { width, height }: { width: number; height: number },
  picture: PictureSettings,
): MaskSaving | null {
  const [known, setKnown] = useState<{ readonly of: unknown; readonly saving: MaskSaving } | null>(null);
  useEffect(() => {
    if (!client) return;
    let stale = false;
    const timer = setTimeout(() => {
      client.ask('saving', { piece: { ...piece, picture }, photo: { width, height } }).then(
        (saving) => !stale && setKnown({ of: picture, saving }),
        () => {},
      );
    }, PAUSE_MS);
    return () => {
      stale = true;
      clearTimeout(timer);
    };
  }, [client, piece, width, height, picture]);
  return known?.of === picture ? known.saving : null;
}

const BRUSH_SIZE = quantity(0.5, 3000, { label: 'Brush size', unit: 'mm', step: 0.5, digits: 1 });

const SOFT_EDGE = quantity(0, 100, { label: 'Soft edge', unit: 'mm', step: 0.1, digits: 1 });

interface BrushControlsProps {
  brush: Brush;
  /** Painting the mask itself, not marking. */
  isByHand: boolean;
  widthMm: number;
  onChange: (brush: Brush) => void;
}

function BrushControls({ brush, isByHand, widthMm, onChange }: BrushControlsProps) {
  return (
    <>
      {isByHand && (
        <PairSwitch
          label="Brush"
          value={brush.does}
          options={[
            { id: 'erase', label: 'Take away' },
            { id: 'restore', label: 'Give back' },
          ]}
          onChange={(does) => onChange({ ...brush, does })}
          hint={brush.does === 'erase' ? 'What it goes over stays as painted.' : 'What it goes over is burned again.'}
        />
      )}
      <ValueControl
        of={{ ...BRUSH_SIZE, high: widthMm, sliderHigh: Math.max(1, widthMm / 3) }}
        hint="Across, on the slab."
        value={brush.sizeMm}
        onChange={(sizeMm) => onChange({ ...brush, sizeMm })}
      />
      {isByHand && (
        <ValueControl
          of={{ ...SOFT_EDGE, sliderHigh: Math.max(1, widthMm / 20) }}
          hint="The burn fades out over this width at the brush’s rim."
          value={brush.softMm}
          onChange={(softMm) => onChange({ ...brush, softMm })}
        />
      )}
      <p className="hint">
        With keys: arrows move the brush, with Shift further; Space or Enter dabs, with Shift it draws a line from the
        last dab.
      </p>
    </>
  );
}

interface MaskSheetProps {
  bitmap: ImageBitmap;
  picture: PictureSettings;
  strokes: readonly BrushStroke[];
  matte: Tiles | null;
  /** Shown while marks are worked on. */
  marks: Marks;
  brush: BrushShape;
  /** No more strokes are taken. */
  isFull: boolean;
  onStrokes: (strokes: readonly DrawnStroke[]) => void;
}

/** The veil's longest side, pixels: soft enough when it is stretched, and quick to paint. */
const VEIL = 640;

/** What stays in the accent's blue, what goes in ochre; both show on any photograph by their light rim. */
const INK_OF = { stays: '#2d6a84', goes: '#b06a1f' } as const;

function drawMarks(context: CanvasRenderingContext2D, marks: Marks): void {
  const { width, height } = context.canvas;
  context.clearRect(0, 0, width, height);
  context.lineCap = 'round';
  context.lineJoin = 'round';
  context.globalAlpha = 0.85;
  for (const { stays, points, radius } of marks) {
    const line = strokeLine(points, width);
    const thick = Math.max(2, 2 * radius * width);
    for (const [ink, more] of [
      ['#fffdfa', 2],
      [INK_OF[stays ? 'stays' : 'goes'], 0],
    ] as const) {
      context.strokeStyle = ink;
      context.lineWidth = thick + more;
      context.stroke(line);
    }
  }
}

/** The photograph under its veil; painted on with pointer or keys. Places are shares of the picture's width. */
function MaskSheet({ bitmap, picture, strokes, matte, marks, brush, isFull, onStrokes }: MaskSheetProps) {
  const tall = bitmap.height / bitmap.width;
  const photo = useRef<HTMLCanvasElement>(null);
  const veil = useRef<HTMLCanvasElement>(null);
  const marked = useRef<HTMLCanvasElement>(null);
  const painting = usePainting({ brush, tall, isFull, onStrokes });
  const { at, ring, live } = painting;
  const length = useLengthText();
  const width = Math.max(1, Math.round(tall > 1 ? VEIL / tall : VEIL));
  const height = Math.max(1, Math.round(width * tall));
  const { widthMm, crop, fallOffMm, cut } = picture;
  const pixels = useMemo(
    () => createMaskPixels({ widthMm, crop, fallOffMm, cut }, width, height, matte),
    [widthMm, crop, fallOffMm, cut, width, height, matte],
  );

  useEffect(() => {
    photo.current?.getContext('2d')?.drawImage(bitmap, 0, 0);
  }, [bitmap]);
  useEffect(() => {
    const drawn: DrawnStroke[] = live ? [{ ...brush, points: [...live] }] : [];
    if (veil.current) drawVeil(veil.current, pixels, strokes, drawn.filter(isPainted));
  }, [pixels, strokes, live, brush]);
  useEffect(() => {
    const context = marked.current?.getContext('2d');
    if (!context) return;
    const marking = brush.does === 'stays' || brush.does === 'goes';
    const drawn =
      live && marking ? [{ stays: brush.does === 'stays', points: [...live], radius: brush.radius }] : NO_MARKS;
    drawMarks(context, [...marksInCut(marks, cut), ...drawn]);
  }, [marks, cut, live, brush]);

  const where = `Brush ${length(at[0] * widthMm)} from the left and ${length(at[1] * widthMm)} from the top`;
  return (
    <PaintSheet
      label="Photograph under its veil: paint with arrow keys and Space"
      tall={tall}
      painting={painting}
      said={ring && !live ? where : ''}
    >
      <canvas ref={photo} width={bitmap.width} height={bitmap.height} />
      <canvas ref={veil} width={width} height={height} />
      <canvas ref={marked} width={width} height={height} />
      {crop === 'oval' && <i className="mask-oval" aria-hidden="true" />}
      {ring && <BrushRing at={at} brush={brush} tall={tall} />}
    </PaintSheet>
  );
}

interface PaintSheetProps {
  label: string;
  /** Height over width of what is painted on. */
  tall: number;
  painting: Pick<ReturnType<typeof usePainting>, 'handlers'>;
  /** Told below it. */
  said: string;
  children: ReactNode;
}

/** What is painted on with pointer or keys, as large as there is room. */
export function PaintSheet({ label, tall, painting, said, children }: PaintSheetProps) {
  return (
    <div className="mask-frame">
      <div className="mask-fit">
        <div
          className="mask-sheet"
          role="application"
          // biome-ignore lint/a11y/noNoninteractiveTabindex: it takes keys
          tabIndex={0}
          aria-label={label}
          style={{ '--ratio': 1 / tall } as CSSProperties}
          {...painting.handlers}
        >
          {children}
        </div>
      </div>
      <p className="mask-where" aria-live="polite">
        {said}
      </p>
    </div>
  );
}

/** A stroke's line on a canvas so many pixels wide. */
export function strokeLine(points: readonly StrokePoint[], width: number): Path2D {
  const line = new Path2D();
  for (const [i, [x, y]] of points.entries()) {
    if (i === 0) line.moveTo(x * width, y * width);
    line.lineTo(x * width, y * width);
  }
  return line;
}

interface BackgroundControlsProps {
  marking: 'stays' | 'goes';
  onMarking: (marking: 'stays' | 'goes') => void;
  task: Task;
  draft: MaskDraft;
  onDraft: (edit: (draft: MaskDraft) => MaskDraft) => void;
}

/** Marks say what stays and what goes; the edge between them is found after each. */
function BackgroundControls({ marking, onMarking, task, draft, onDraft }: BackgroundControlsProps) {
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const { marks, matte } = draft;
  const [some, others] = [marks.some(({ stays }) => stays), marks.some(({ stays }) => !stays)];
  return (
    <>
      <PairSwitch
        label="Mark"
        value={marking}
        options={[
          { id: 'stays', label: 'What stays' },
          { id: 'goes', label: 'What goes' },
        ]}
        onChange={onMarking}
        hint={
          marking === 'stays'
            ? 'A stroke through the subject, over each of its colours.'
            : 'A stroke through the background, one on each side if it differs.'
        }
      />
      {busy && <TaskProgress of={task} label="Looking for the edge" />}
      <p className="plain" role="status">
        {busy ? '' : (fault ?? markWords(some, others, matte !== null))}
      </p>
      <Button
        className="wide"
        isDisabled={marks.length === 0}
        onPress={() => onDraft((now) => draw(now, { marks: [], matte: null }))}
      >
        Keep the background
      </Button>
    </>
  );
}

function markWords(some: boolean, others: boolean, found: boolean): string {
  if (found) return 'The edge is found. Mark what lies on the wrong side of it, or correct it by hand.';
  if (some && others) return 'The edge was not found: mark something more.';
  if (some) return 'Now mark a bit of what goes.';
  return others ? 'Now mark a bit of what stays.' : 'Two or three strokes are enough.';
}

/** Looks for the edge anew whenever marks of both kinds were drawn. */
function useFoundEdge(
  client: MaskClient | null,
  small: MaskPhoto['small'] | null,
  { marks, matte }: MaskDraft,
  onDraft: (edit: (draft: MaskDraft) => MaskDraft) => void,
): Task {
  const task = useTask();
  const wanted = matte === null && marks.some(({ stays }) => stays) && marks.some(({ stays }) => !stays);
  useEffect(() => {
    if (!wanted || !client || !small) return;
    inBackground(
      task
        .run('Looking for the edge', ({ signal, onProgress }) =>
          client.ask('background', { ...small, marks }, { signal, onProgress }),
        )
        .then((found) => {
          if (found) onDraft((now) => withMatte(now, marks, found));
        }),
    );
    return task.stop;
  }, [wanted, client, small, marks, task, onDraft]);
  return task;
}

type MaskClient = Remote<MaskQuestions>;

const maskWorker = openWorker(
  () => new Worker(new URL('./mask-worker.ts', import.meta.url), { type: 'module' }),
  'works on masks',
);

/** The dialog's worker, while it is open. */
export function useMaskClient(): MaskClient | null {
  const [client, setClient] = useState<MaskClient | null>(null);
  useEffect(() => {
    const started = createRemote<MaskQuestions>(maskWorker);
    setClient(started);
    return () => started.close();
  }, []);
  return client;
}

interface MaskPixels {
  /** The mask with strokes drawn on it, 0–255; strokes that were drawn before are not drawn again. */
  paint(strokes: readonly BrushStroke[]): Uint8Array;
  /** 0 where the crop cuts away whatever the brush does. */
  readonly crop: Uint8Array;
}

/** Keeps what the last strokes left, so that one more costs one only. */
export function createMaskPixels(
  picture: Pick<PictureSettings, 'widthMm' | 'crop' | 'fallOffMm' | 'cut'>,
  width: number,
  height: number,
  matte: Tiles | null = null,
): MaskPixels {
  const pitchMm = picture.widthMm / width;
  const shape = picture.crop === 'oval' ? 'oval' : 'rectangle';
  const crop = applyVignette(null, width, height, pitchMm, { shape, fallOffMm: 0 });
  const faded = applyVignette(null, width, height, pitchMm, { shape, fallOffMm: picture.fallOffMm });
  const empty = matte ? layMatte(faded, width, height, { ...matte, values: unpackTiles(matte) }, picture.cut) : faded;
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

/** The brush in the maker's terms: lengths on the slab. */
interface Brush {
  readonly does: BrushStroke['does'];
  /** Across. */
  readonly sizeMm: number;
  /** Width of the rim over which it fades out. */
  readonly softMm: number;
}

/** What a brush does: it paints the mask, or marks what stays and goes. */
type Does = BrushStroke['does'] | 'stays' | 'goes';

type BrushShape = Pick<BrushStroke, 'radius' | 'hardness'> & { readonly does: Does };

type DrawnStroke = Omit<BrushStroke, 'does'> & { readonly does: Does };

const firstBrush = (widthMm: number): Brush => ({
  does: 'erase',
  sizeMm: Math.max(0.5, Math.round(widthMm / 16)),
  softMm: Math.round(widthMm / 20) / 10,
});

/** A brush in shares of a picture's width, inside the piece's limits. A rim wider than the brush fades from its middle. */
export function brushOf({ does, sizeMm, softMm }: Brush, widthMm: number): Omit<BrushStroke, 'points'> {
  const radiusMm = sizeMm / 2;
  return {
    does,
    radius: Math.min(1, Math.max(0.0005, radiusMm / widthMm)),
    hardness: Math.min(1, Math.max(0, 1 - softMm / radiusMm)),
  };
}

type Strokes = readonly BrushStroke[];

type Marks = PictureMatte['marks'];

/** What is worked on: the brush's strokes, marks of what stays and goes, and what was found from the marks. */
interface MaskState {
  readonly strokes: Strokes;
  readonly marks: Marks;
  readonly matte: Tiles | null;
}

/** The mask while it is worked on, with what undo and redo go back and forth to. */
interface MaskDraft extends MaskState {
  readonly past: readonly MaskState[];
  readonly future: readonly MaskState[];
}

const stateOf = ({ strokes, marks, matte }: MaskState): MaskState => ({ strokes, marks, matte });

export const startDraft = (state: MaskState): MaskDraft => ({ ...state, past: [], future: [] });

/** One more step. */
export const draw = (draft: MaskDraft, next: Partial<MaskState>): MaskDraft => ({
  ...draft,
  ...next,
  past: [...draft.past, stateOf(draft)],
  future: [],
});

export function undoDraft(draft: MaskDraft): MaskDraft | null {
  const before = draft.past.at(-1);
  return before ? { ...before, past: draft.past.slice(0, -1), future: [...draft.future, stateOf(draft)] } : null;
}

export function redoDraft(draft: MaskDraft): MaskDraft | null {
  const after = draft.future.at(-1);
  return after ? { ...after, past: [...draft.past, stateOf(draft)], future: draft.future.slice(0, -1) } : null;
}

/** What marks led to, which is no step of its own; nothing if there are others by now. */
export const withMatte = (draft: MaskDraft, marks: Marks, matte: Tiles): MaskDraft =>
  draft.marks === marks ? { ...draft, matte } : draft;

interface MaskPhoto {
  readonly bitmap: ImageBitmap;
  /** All of the photograph, small, for telling the background. */
  readonly small: { readonly width: number; readonly height: number; readonly rgba: Uint8ClampedArray };
}

/** Longest sides, pixels. */
const SHOWN = 1400;

/** As many dots as a piece keeps of what was found. */
const SMALL = 512;

/** What is used of the photograph, decoded for the dialog; a sentence if it cannot be. */
export function useMaskPhoto(open: OpenPhoto, cut: Cut | null): MaskPhoto | string | null {
  const [photo, setPhoto] = useState<MaskPhoto | string | null>(null);
  useEffect(() => {
    let gone = false;
    decode(open, cut).then(
      (decoded) => {
        if (gone) decoded.bitmap.close();
        else setPhoto(decoded);
      },
      () => !gone && setPhoto('The photograph cannot be shown here; open it anew and try again.'),
    );
    return () => {
      gone = true;
    };
  }, [open, cut]);
  return photo;
}

async function decode(photo: OpenPhoto, cut: Cut | null): Promise<MaskPhoto> {
  const bitmap = await cutBitmap(photo, cut, SHOWN);
  if (!bitmap) throw new Error('the photograph cannot be decoded');
  const whole = cut ? await cutBitmap(photo, null, SMALL) : bitmap;
  if (!whole) throw new Error('the photograph cannot be decoded');
  const share = Math.min(1, SMALL / Math.max(whole.width, whole.height));
  const [width, height] = [whole.width, whole.height].map((side) => Math.max(2, Math.round(side * share)));
  const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('no memory for a canvas');
  context.imageSmoothingQuality = 'high';
  context.drawImage(whole, 0, 0, width, height);
  return { bitmap, small: { width, height, rgba: context.getImageData(0, 0, width, height).data } };
}

interface PaintingProps {
  brush: BrushShape;
  /** Height of the sheet over its width. */
  tall: number;
  isFull: boolean;
  onStrokes: (strokes: readonly DrawnStroke[]) => void;
}

/** How far an arrow key moves the brush, shares of the width. */
const STEP = 0.01;

const FAR_STEP = 0.05;

/** The brush on a sheet, led by pointer or keys: where it is, whether its ring shows, and what it is drawing just now. */
export function usePainting({ brush, tall, isFull, onStrokes }: PaintingProps) {
  const [at, setAt] = useState<StrokePoint>([0.5, tall / 2]);
  const [ring, setRing] = useState(false);
  const [live, setLive] = useState<readonly StrokePoint[] | null>(null);
  const pressed = useRef<StrokePoint[] | null>(null);
  const lastDab = useRef<StrokePoint | null>(null);

  const place = (event: { clientX: number; clientY: number }, sheet: Element): StrokePoint => {
    const bounds = sheet.getBoundingClientRect();
    const share = (value: number, highest: number) => Math.min(highest, Math.max(0, value / bounds.width));
    return [share(event.clientX - bounds.left, 1), share(event.clientY - bounds.top, tall)];
  };
  const press = (event: PointerEvent) => {
    if (isFull || event.button !== 0 || pressed.current) return;
    event.currentTarget.setPointerCapture(event.pointerId);
    const here = place(event, event.currentTarget);
    pressed.current = [here];
    setAt(here);
    setLive([here]);
  };
  const move = (event: PointerEvent) => {
    setRing(true);
    setAt(place(event, event.currentTarget));
    const points = pressed.current;
    if (!points) return;
    const seen = event.nativeEvent.getCoalescedEvents?.() ?? [];
    for (const one of seen.length > 0 ? seen : [event]) {
      const [x, y] = place(one, event.currentTarget);
      const [fromX, fromY] = points[points.length - 1];
      if (Math.hypot(x - fromX, y - fromY) >= 0.1 * brush.radius) points.push([x, y]);
    }
    setLive([...points]);
  };
  const lift = () => {
    const points = pressed.current;
    pressed.current = null;
    setLive(null);
    if (!points) return;
    lastDab.current = points[points.length - 1];
    onStrokes(finishStroke(brush, points));
  };
  const drop = () => {
    pressed.current = null;
    setLive(null);
  };
  const byKey = (event: KeyboardEvent) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const arrow = ARROWS[event.key];
    if (!arrow && event.key !== ' ' && event.key !== 'Enter') return;
    event.preventDefault();
    setRing(true);
    if (arrow) {
      const step = event.shiftKey ? FAR_STEP : STEP;
      const hold = (value: number, highest: number) => Math.min(highest, Math.max(0, value));
      setAt(([x, y]) => [hold(x + step * arrow[0], 1), hold(y + step * arrow[1], tall)]);
    } else if (!event.repeat && !isFull) {
      onStrokes(finishStroke(brush, event.shiftKey && lastDab.current ? [lastDab.current, at] : [at]));
      lastDab.current = at;
    }
  };
  const handlers = {
    onKeyDown: byKey,
    onFocus: () => setRing(true),
    onBlur: () => setRing(false),
    onPointerDown: press,
    onPointerMove: move,
    onPointerUp: lift,
    onPointerCancel: drop,
    onPointerLeave: () => {
      if (!pressed.current) setRing(false);
    },
  };
  return { at, ring, live, handlers };
}

/** How far a thinned line may lie off what was drawn, as a share of the brush's radius. */
const OFF = 0.04;

/** What a brush drew, with as few points as show no difference; a long scribble becomes several strokes. */
export function finishStroke<Brush extends BrushShape>(
  { does, radius, hardness }: Brush,
  points: readonly StrokePoint[],
): (Omit<BrushStroke, 'does'> & Pick<Brush, 'does'>)[] {
  const thin = simplifyLine(points, OFF * radius).map(([x, y]): StrokePoint => [round(x), round(y)]);
  return splitPoints(thin).map((part) => ({ does, radius: round(radius), hardness: round(hardness), points: part }));
}

const round = (share: number): number => Math.round(share * 1e5) / 1e5;
