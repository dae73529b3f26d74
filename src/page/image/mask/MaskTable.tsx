import {
  type CSSProperties,
  type Dispatch,
  type KeyboardEvent,
  type PointerEvent,
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
import { applyVignette } from '../../../image/mask/vignette.ts';
import { strokesOutOfCut } from '../../../piece/frame.ts';
import type { BrushStroke, Cut, PictureSettings, Piece } from '../../../piece/schema.ts';
import { ARROWS } from '../../../render/gestures.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { SheetTable } from '../../fields/SheetDialog.tsx';
import { PairSwitch, useLengthText, ValueControl } from '../../fields/ValueControl.tsx';
import { cutBitmap } from '../../files/cut-bitmap.ts';
import { useTask } from '../../remote/task.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { type OpenPhoto, usePieceStore } from '../../store/piece-store.ts';
import type { MaskSaving } from './mask-saving.ts';
import type { MaskQuestions } from './messages.ts';
import { MOST_STROKES, type StrokePoint, splitPoints } from './stroke-points.ts';

interface MaskTableProps {
  photo: OpenPhoto;
  decoded: MaskPhoto | string | null;
  /** The piece's strokes as they lie in what is used of the photograph. */
  kept: readonly BrushStroke[];
  draft: MaskDraft;
  onDraft: Dispatch<SetStateAction<MaskDraft>>;
  /** Closing was asked for while there are strokes that the piece does not have. */
  isLeaving: boolean;
  onLeave: () => void;
  onStay: () => void;
  onClose: () => void;
}

/** The photograph with its veil, and beside it what works on the mask. */
export function MaskTable({
  photo,
  decoded,
  kept,
  draft,
  onDraft,
  isLeaving,
  onLeave,
  onStay,
  onClose,
}: MaskTableProps) {
  const piece = usePieceStore((state) => state.piece);
  const [brush, setBrush] = useState<Brush>(() => firstBrush(piece.picture.widthMm));
  const client = useMaskClient();
  const saving = useMaskSaving(client, piece, photo, draft.strokes);
  const full = draft.strokes.length >= MOST_STROKES;
  const shape = useMemo(() => brushOf(brush, piece.picture.widthMm), [brush, piece.picture.widthMm]);

  const back = () => onDraft((now) => undoDraft(now) ?? now);
  const forth = () => onDraft((now) => redoDraft(now) ?? now);
  const add = (more: readonly BrushStroke[]) =>
    onDraft((now) =>
      now.strokes.length + more.length <= MOST_STROKES ? draw(now, [...now.strokes, ...more], 'brush') : now,
    );
  const takeOver = () => {
    usePieceStore.getState().change((now) => ({
      ...now,
      picture: { ...now.picture, strokes: [...strokesOutOfCut(draft.strokes, now.picture.cut)] },
    }));
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
          isDisabled={draft.strokes.length === 0}
          onPress={() => onDraft((now) => draw(now, [], 'clear'))}
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
            strokes={draft.strokes}
            brush={shape}
            isFull={full}
            onStrokes={add}
          />
        )}
      </div>
      <aside className="sheet-panel mask-panel" aria-label="Brush and background">
        <div className="mask-controls">
          <BrushControls brush={brush} widthMm={piece.picture.widthMm} onChange={setBrush} />
          <BackgroundControls
            client={client}
            small={decoded && typeof decoded !== 'string' ? decoded.small : null}
            draft={draft}
            softMm={brush.softMm}
            widthMm={piece.picture.widthMm}
            onDraft={onDraft}
          />
        </div>
        <footer className="mask-foot">
          <div role="status">
            {saving && !saving.nothing && <p className="mask-saving">{savingWords(saving.savedS)}</p>}
            <p className="plain">{strokeWords(draft.strokes.length)}</p>
          </div>
          <div role="alert">
            {saving?.nothing && (
              <p className="warning">{NOTHING_LEFT} Undo a step, clear the mask, or give some back.</p>
            )}
            {full && (
              <p className="warning">This mask is full: a piece keeps {MOST_STROKES} strokes. Undo some or clear it.</p>
            )}
          </div>
          <div className="button-row">
            <Button className="wide" onPress={onLeave}>
              Cancel
            </Button>
            <Button
              className="wide sheet-main"
              isDisabled={saving === null || saving.nothing || draft.strokes === kept}
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

/** What the strokes would save; null until it is known for these very strokes. */
function useMaskSaving(
  client: MaskClient | null,
  piece: Piece,
  { width, height }: { width: number; height: number },
  strokes: readonly BrushStroke[],
): MaskSaving | null {
  const [known, setKnown] = useState<{ readonly strokes: unknown; readonly saving: MaskSaving } | null>(null);
  useEffect(() => {
    if (!client) return;
    let stale = false;
    const masked = {
      ...piece,
      picture: { ...piece.picture, strokes: [...strokesOutOfCut(strokes, piece.picture.cut)] },
    };
    const timer = setTimeout(() => {
      client.ask('saving', { piece: masked, photo: { width, height } }).then(
        (saving) => !stale && setKnown({ strokes, saving }),
        () => {},
      );
    }, PAUSE_MS);
    return () => {
      stale = true;
      clearTimeout(timer);
    };
  }, [client, piece, width, height, strokes]);
  return known?.strokes === strokes ? known.saving : null;
}

const BRUSH_SIZE = quantity(0.5, 3000, { label: 'Brush size', unit: 'mm', step: 0.5, digits: 1 });

const SOFT_EDGE = quantity(0, 100, { label: 'Soft edge', unit: 'mm', step: 0.1, digits: 1 });

const TOLERANCE = quantity(1, 60, { label: 'Tolerance', unit: 'ΔE', step: 1, digits: 0, sliderHigh: 40 });

interface BrushControlsProps {
  brush: Brush;
  widthMm: number;
  onChange: (brush: Brush) => void;
}

function BrushControls({ brush, widthMm, onChange }: BrushControlsProps) {
  return (
    <>
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
      <ValueControl
        of={{ ...BRUSH_SIZE, high: widthMm, sliderHigh: Math.max(1, widthMm / 3) }}
        hint="Across, on the slab."
        value={brush.sizeMm}
        onChange={(sizeMm) => onChange({ ...brush, sizeMm })}
      />
      <ValueControl
        of={{ ...SOFT_EDGE, sliderHigh: Math.max(1, widthMm / 20) }}
        hint="The burn fades out over this width, at the brush’s rim and round the subject."
        value={brush.softMm}
        onChange={(softMm) => onChange({ ...brush, softMm })}
      />
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
  brush: BrushShape;
  /** No more strokes are taken. */
  isFull: boolean;
  onStrokes: (strokes: readonly BrushStroke[]) => void;
}

/** The veil's longest side, pixels: soft enough when it is stretched, and quick to paint. */
const VEIL = 640;

/** The photograph under its veil; painted on with pointer or keys. Places are shares of the picture's width. */
function MaskSheet({ bitmap, picture, strokes, brush, isFull, onStrokes }: MaskSheetProps) {
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

interface BackgroundControlsProps {
  client: MaskClient | null;
  small: MaskPhoto['small'] | null;
  draft: MaskDraft;
  softMm: number;
  widthMm: number;
  onDraft: (edit: (draft: MaskDraft) => MaskDraft) => void;
}

const STARTS = { top: ['top'], sides: ['top', 'left', 'right'] } as const;

/** Above this share the subject is probably gone, too. */
const NEARLY_ALL = 0.9;

/** Takes away what is like the picture's borders, as one step. */
function BackgroundControls({ client, small, draft, softMm, widthMm, onDraft }: BackgroundControlsProps) {
  const [tolerance, setTolerance] = useState(5);
  const [start, setStart] = useState<keyof typeof STARTS>('sides');
  const task = useTask();
  const busy = task.use((state) => state.busy);
  const fault = task.use((state) => state.fault);
  const [found, setFound] = useState<MaskQuestions['background']['gets'] | null>(null);
  const anew = draft.step === 'background';
  const take = async () => {
    if (!client || !small) return;
    const softDots = Math.min(0.05, softMm / widthMm) * small.width;
    const mostStrokes = MOST_STROKES - beforeBackground(draft).strokes.length;
    const asks = { ...small, tolerance, from: STARTS[start], softDots, mostStrokes };
    const answer = await task.run('Looking for the background', () => client.ask('background', asks));
    setFound(answer);
    if (!answer) return;
    onDraft((now) => {
      const base = beforeBackground(now);
      const strokes = [...base.strokes, ...answer.strokes];
      return strokes.length <= MOST_STROKES ? draw(base, strokes, 'background') : now;
    });
  };
  return (
    <section className="mask-background" aria-label="Background">
      <PairSwitch
        label="Background from"
        value={start}
        options={[
          { id: 'top', label: 'Top' },
          { id: 'sides', label: 'Top and sides' },
        ]}
        onChange={setStart}
        hint="A sky comes from the top, a backdrop from the sides as well."
      />
      <ValueControl
        of={TOLERANCE}
        hint="How far a place may differ in colour from its neighbours and still be background."
        value={tolerance}
        onChange={setTolerance}
      />
      <Button className="wide" isDisabled={busy !== null || !small || !client} onPress={() => inBackground(take())}>
        {busy ? `${busy}…` : anew ? 'Take it away anew' : 'Take the background away'}
      </Button>
      <p className="hint">As far as it is calm, up to the next edge. The brush corrects it afterwards.</p>
      <div role="status">
        {fault && <p className="warning">{fault}</p>}
        {found && anew && (
          <p className="plain">
            {Math.round(100 * found.removed)} % of the picture, in {found.strokes.length}{' '}
            {found.strokes.length === 1 ? 'stroke' : 'strokes'}.
            {found.removed > NEARLY_ALL && ' That is nearly all of it: a lower tolerance leaves more.'}
            {found.coarser &&
              ` It was drawn more coarsely to keep the piece small: gaps narrower than about ${((found.finestDots * widthMm) / (small?.width ?? 1)).toFixed(1)} mm stay.`}
          </p>
        )}
      </div>
    </section>
  );
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
  picture: Pick<PictureSettings, 'widthMm' | 'crop' | 'fallOffMm'>,
  width: number,
  height: number,
): MaskPixels {
  const pitchMm = picture.widthMm / width;
  const shape = picture.crop === 'oval' ? 'oval' : 'rectangle';
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

/** The brush in the maker's terms: lengths on the slab. */
interface Brush {
  readonly does: BrushStroke['does'];
  /** Across. */
  readonly sizeMm: number;
  /** Width of the rim over which it fades out. */
  readonly softMm: number;
}

type BrushShape = Pick<BrushStroke, 'does' | 'radius' | 'hardness'>;

const firstBrush = (widthMm: number): Brush => ({
  does: 'erase',
  sizeMm: Math.max(0.5, Math.round(widthMm / 16)),
  softMm: Math.round(widthMm / 20) / 10,
});

/** A brush in shares of a picture's width, inside the piece's limits. A rim wider than the brush fades from its middle. */
export function brushOf({ does, sizeMm, softMm }: Brush, widthMm: number): BrushShape {
  const radiusMm = sizeMm / 2;
  return {
    does,
    radius: Math.min(1, Math.max(0.0005, radiusMm / widthMm)),
    hardness: Math.min(1, Math.max(0, 1 - softMm / radiusMm)),
  };
}

type Strokes = readonly BrushStroke[];

/** What led to a state: taking the background away anew replaces the last time it was. */
type Step = 'brush' | 'background' | 'clear';

/** The mask while it is worked on, with what undo and redo go back and forth to. */
interface MaskDraft {
  readonly strokes: Strokes;
  readonly step: Step | null;
  readonly past: readonly Pick<MaskDraft, 'strokes' | 'step'>[];
  readonly future: readonly Pick<MaskDraft, 'strokes' | 'step'>[];
}

export const startDraft = (strokes: Strokes): MaskDraft => ({ strokes, step: null, past: [], future: [] });

/** One more step. */
export const draw = ({ strokes, step, past }: MaskDraft, next: Strokes, by: Step): MaskDraft => ({
  strokes: next,
  step: by,
  past: [...past, { strokes, step }],
  future: [],
});

export function undoDraft({ strokes, step, past, future }: MaskDraft): MaskDraft | null {
  const before = past.at(-1);
  return before ? { ...before, past: past.slice(0, -1), future: [...future, { strokes, step }] } : null;
}

export function redoDraft({ strokes, step, past, future }: MaskDraft): MaskDraft | null {
  const after = future.at(-1);
  return after ? { ...after, past: [...past, { strokes, step }], future: future.slice(0, -1) } : null;
}

/** The draft that taking the background away begins from: before the last time, if nothing was done since. */
export const beforeBackground = (draft: MaskDraft): MaskDraft =>
  draft.step === 'background' ? (undoDraft(draft) ?? draft) : draft;

interface MaskPhoto {
  readonly bitmap: ImageBitmap;
  /** Small, for finding the background. */
  readonly small: { readonly width: number; readonly height: number; readonly rgba: Uint8ClampedArray };
}

/** Longest sides, pixels. */
const SHOWN = 1400;

const SMALL = 600;

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
  const share = Math.min(1, SMALL / Math.max(bitmap.width, bitmap.height));
  const [width, height] = [bitmap.width, bitmap.height].map((side) => Math.max(1, Math.round(side * share)));
  const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('no memory for a canvas');
  context.imageSmoothingQuality = 'high';
  context.drawImage(bitmap, 0, 0, width, height);
  return { bitmap, small: { width, height, rgba: context.getImageData(0, 0, width, height).data } };
}

interface PaintingProps {
  brush: BrushShape;
  /** Height of the sheet over its width. */
  tall: number;
  isFull: boolean;
  onStrokes: (strokes: readonly BrushStroke[]) => void;
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
export function finishStroke({ does, radius, hardness }: BrushShape, points: readonly StrokePoint[]): BrushStroke[] {
  const thin = simplifyLine(points, OFF * radius).map(([x, y]): StrokePoint => [round(x), round(y)]);
  return splitPoints(thin).map((part) => ({ does, radius: round(radius), hardness: round(hardness), points: part }));
}

const round = (share: number): number => Math.round(share * 1e5) / 1e5;
