import { boundsMm, type Polygon, perimeterMm, smoothOutline } from '../../../base/geometry/outline.ts';
import { thinOutline } from '../../../base/geometry/raster-mask.ts';
import { InputError, LIMITS } from '../../../base/input-error.ts';
import { createRemote } from '../../../base/remote/remote.ts';
import { Cancelled } from '../../../base/stop.ts';
import * as z from '../../../base/zod.ts';
import {
  addQuarters,
  slabPart,
  turnBounds,
  turnDefect,
  turnPolygon,
  viewRound,
} from '../../../vision/slab/slab-part.ts';
import { setProof } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { keepImage, readTextFile } from '../../files/photo-bytes.ts';
import { faultOf, type TaskHow } from '../../remote/task.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { openDatabase } from '../../store/database.ts';
import { changeSlab, setSession } from '../../store/piece-store.ts';
import type { SlabQuestions } from './messages.ts';
import {
  amendDraft,
  type Draft,
  editDraft,
  editWork,
  type Face,
  finding,
  marksForScale,
  type RimReading,
  setSlabPhoto,
  startMarks,
  useSlabPhotoStore,
} from './slab-photo-store.ts';

const HANDLES = 16;

let faceIds = 0;

/** Asks the dialog's worker as part of what is under way; what it is at is what is being done. */
const asking = ({ goOn }: TaskHow) => ({ onProgress: (_: number, busy: string): void => goOn(busy) });

export const openSlabPhoto = (file: File): Promise<unknown> =>
  finding.run('Opening the photograph', async (how) => {
    const { bitmap, card } = await slabWorker.ask('open', { file }, asking(how));
    const { width, height } = bitmap;
    const work = { marks: startMarks(width, height, card), draft: null, shows: 'marks' } as const;
    setSlabPhoto({
      photo: { file, bitmap, width, height, hasCard: card !== null },
      work,
      past: [],
      future: [],
      merge: null,
      active: 0,
    });
  });

export const findOutline = (): Promise<unknown> =>
  finding.run('Opening the photograph', async (how) => {
    const { photo, work } = useSlabPhotoStore.getState();
    if (!photo) return;
    const marks = marksForScale(work.marks);
    const asks = { file: photo.file, marks, k1: work.marks.k1, faceId: ++faceIds };
    const { outline, face, rim, defects, notes } = await slabWorker.ask('find', asks, asking(how));
    show({
      ...untouched(outline, notes),
      face,
      rim,
      tapeRim: rim.maskedRimMm !== null,
      defects: defects.map((defect) => ({ defect, on: true })),
    });
  });

export const pasteOutline = (text: string): Promise<unknown> =>
  finding.run('Reading the outline', (how) => takeOutline(text, how));

export const openOutline = (file: File): Promise<unknown> =>
  finding.run('Reading the outline', async (how) => {
    try {
      await takeOutline(await readTextFile(file, LIMITS.drawingBytes), how);
    } catch (error) {
      if (error instanceof Cancelled) throw error;
      throw new InputError(`${file.name}: ${(error as Error).message}`);
    }
  });

async function takeOutline(text: string, how: TaskHow): Promise<void> {
  if (text.trim() === '') throw new RangeError('There is nothing to read: paste the d of a path, or a whole SVG.');
  const { outline, notes } = await slabWorker.ask('paste', { text }, asking(how));
  show(untouched(outline, notes));
}

/** An outline that nobody has moved yet. */
const untouched = (outline: Polygon, notes: readonly string[]): Draft => ({
  outline,
  handles: evenHandles(outline, HANDLES),
  view: viewRound(outline),
  face: null,
  rim: null,
  rimOf: outline,
  tapeRim: false,
  defects: [],
  notes,
});

const show = (draft: Draft): void => editWork({ draft, shows: 'outline' });

/** Reads the rim anew for an outline that has been moved. */
export async function readRimAnew({ face, outline }: Draft): Promise<void> {
  if (!face) return;
  try {
    const found = turnPolygon(outline, -face.quarters);
    const rim = await slabWorker.ask('rim', { faceId: face.id, outline: found });
    amendDraft(outline, { rim: turnRim(rim, face.quarters), rimOf: outline });
  } catch (error) {
    if (error instanceof Cancelled) return;
    amendDraft(outline, { rim: null, rimOf: outline });
    finding.tell({ fault: faultOf(error) });
  }
}

export function cancelSlabWork(): void {
  // The worker is ended, whatever it is at.
  slabWorker.stop();
}

/** How far a press evens an outline out along itself, mm: what is longer than a few times that stays. */
const SMOOTH_MM = 2;

/** The outline without its small notches, as a step. */
export function smoothFound({ outline }: Draft): void {
  const smooth = thinOutline(smoothOutline(outline, SMOOTH_MM));
  editDraft({ outline: smooth, handles: evenHandles(smooth, HANDLES) });
}

/** Turns what was found by 90°, clockwise for 1. */
export const turnFound = (draft: Draft, quarters: 1 | -1): void => editWork({ draft: turnDraft(draft, quarters) });

/** Puts the draft with its picture on the piece, as one change of it, and closes the dialog. @param size the slab's size in words. */
export const takeOver = (draft: Draft, size: string): Promise<unknown> =>
  finding.run('Opening the photograph', async (how) => {
    const { outline, face, rim, tapeRim, defects } = draft;
    const maskedRimMm = (tapeRim ? rim?.maskedRimMm : null) ?? null;
    const wanted = defects.flatMap(({ defect, on }) => (on ? [defect] : []));
    const photo = face && (await keptPicture(outline, face, how));
    changeSlab(slabPart({ outline, wood: photo && { defects: wanted, photo }, maskedRimMm }));
    // Another size: the whole of it comes into view.
    setSession(({ resetToken }) => ({ resetToken: resetToken + 1 }));
    setSlabPhoto({ open: false });
    setProof({
      notice: `The slab is now as it was ${face ? 'photographed' : 'drawn'}: ${size}. Undo takes it back.`,
    });
  });

async function keptPicture(turned: Polygon, { quarters, shift, marks, k1 }: Face, how: TaskHow) {
  const { photo } = useSlabPhotoStore.getState();
  if (!photo) throw new Error('the photograph is not open any more; open it again');
  const outline = turnPolygon(turned, -quarters);
  const asks = { file: photo.file, marks, k1, outline, shift, quarters };
  const { jpeg, box } = await slabWorker.ask('keep', asks, asking(how));
  return { file: await keepImage(jpeg), box };
}

/** The dialog's worker. It keeps the photograph and the faces that it found; `stop` ends whatever it does. */
const slabWorker = createRemote<SlabQuestions>(
  openWorker(
    () => new Worker(new URL('./slab-photo-worker.ts', import.meta.url), { type: 'module' }),
    'reads slabs in photographs',
  ),
);

/** Numbers of points of an outline that lie about evenly along it, the first one included; fewer if it has fewer points. */
function evenHandles(outline: Polygon, count: number): number[] {
  const step = perimeterMm(outline) / count;
  const chosen: number[] = [];
  let walked = 0;
  outline.forEach(([x, y], i) => {
    if (chosen.length < count && walked >= chosen.length * step - 1e-9) chosen.push(i);
    const [nextX, nextY] = outline[(i + 1) % outline.length];
    walked += Math.hypot(nextX - x, nextY - y);
  });
  return chosen;
}

/** The draft a quarter turn further: 1 clockwise, -1 back. */
function turnDraft(draft: Draft, quarters: 1 | -1): Draft {
  const outline = turnPolygon(draft.outline, quarters);
  return {
    ...draft,
    outline,
    view: turnBounds(draft.view, quarters),
    face: draft.face && turnFace(draft.face, quarters),
    rim: draft.rim && turnRim(draft.rim, quarters),
    // A rim that was not read yet for this outline is still not.
    rimOf: draft.rimOf === draft.outline ? outline : turnPolygon(draft.rimOf, quarters),
    defects: draft.defects.map(({ defect, on }) => ({ defect: turnDefect(defect, quarters), on })),
  };
}

/** What was read of a face as it was found, in the frame it has been turned to. */
const turnRim = (rim: RimReading, quarters: number): RimReading => ({
  ...rim,
  paintable: turnPolygon(rim.paintable, quarters),
});

function turnFace(face: Face, quarters: number): Face {
  const { left, top, right, bottom } = turnBounds(
    boundsMm([
      [face.leftMm, face.topMm],
      [face.leftMm + face.widthMm, face.topMm + face.heightMm],
    ]),
    quarters,
  );
  return {
    ...face,
    quarters: addQuarters(face.quarters, quarters),
    leftMm: left,
    topMm: top,
    widthMm: right - left,
    heightMm: bottom - top,
  };
}

const SAVED = 'slab-photo';

const SETTLE_MS = 400;

const points = (count: number) => z.array(z.tuple([z.number(), z.number()])).check(z.length(count));

const savedSchema = z.object({
  file: z.instanceof(File),
  marks: z.object({
    kind: z.enum(['card', 'rectangle', 'ruler']),
    points: z.object({ card: points(4), rectangle: points(4), ruler: points(2) }),
    widthMm: z.number(),
    heightMm: z.number(),
    lengthMm: z.number(),
    k1: z.number(),
  }),
});

type Saved = z.infer<typeof savedSchema>;

let begun = false;

/** Opens the photo and its marks of the visit before, then keeps them as they change. A browser that keeps nothing is no fault. */
export async function keepSlabPhoto(): Promise<void> {
  if (begun) return;
  begun = true;
  const value = await openDatabase()
    .then((database) => database.get('page', SAVED))
    .catch(() => undefined);
  const saved = savedSchema.safeParse(value).data;
  if (saved && !useSlabPhotoStore.getState().photo) {
    await openSlabPhoto(saved.file);
    setSlabPhoto(({ work, photo }) => (photo?.file === saved.file ? { work: { ...work, marks: saved.marks } } : {}));
  }
  let timer = 0;
  useSlabPhotoStore.subscribe(({ photo, work }, before) => {
    if (!photo || (photo === before.photo && work.marks === before.work.marks)) return;
    clearTimeout(timer);
    timer = window.setTimeout(
      () => inBackground(keep({ file: photo.file, marks: work.marks as Saved['marks'] })),
      SETTLE_MS,
    );
  });
}

const keep = (saved: Saved): Promise<unknown> =>
  openDatabase()
    .then((database) => database.put('page', saved, SAVED))
    .catch(() => {});
