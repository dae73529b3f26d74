import { Cancelled } from '../../../base/cancelled.ts';
import type { Polygon } from '../../../base/geometry/point.ts';
import { InputError } from '../../../base/input-error.ts';
import { LIMITS } from '../../../base/limits.ts';
import { turnPolygon } from '../../../vision/slab/quarter-turn.ts';
import { slabPart } from '../../../vision/slab/slab-part.ts';
import { viewRound } from '../../../vision/slab/view-round.ts';
import { setProof } from '../../burn/proof-store.ts';
import { keepImage } from '../../files/photo-bytes.ts';
import { readTextFile } from '../../files/read-file.ts';
import { changeSlab } from '../../store/piece-edits.ts';
import { setSession } from '../../store/session-store.ts';
import type { Draft, Face } from './draft.ts';
import { evenHandles } from './even-handles.ts';
import { sentence } from './sentence.ts';
import { marksForScale, startMarks } from './slab-marks.ts';
import { slabWorker } from './slab-photo-client.ts';
import { amendDraft, editWork, setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';
import { turnDraft, turnRim } from './turn-draft.ts';

const HANDLES = 16;
let faceIds = 0;

const said = { onProgress: (_: number, busy: string): void => setSlabPhoto({ busy }) };

/** Shows what goes wrong as a sentence; photo, marks and outline stay as they are. */
async function trying(words: string, work: () => Promise<void> | void): Promise<void> {
  setSlabPhoto({ busy: words, fault: null });
  try {
    await work();
  } catch (error) {
    if (!(error instanceof Cancelled)) setSlabPhoto({ fault: sentence((error as Error).message) });
  }
  setSlabPhoto({ busy: null });
}

export const openSlabPhoto = (file: File): Promise<void> =>
  trying('Opening the photograph', async () => {
    const { bitmap } = await slabWorker.ask('open', { file }, said);
    const { width, height } = bitmap;
    const work = { marks: startMarks(width, height), draft: null, shows: 'marks' } as const;
    setSlabPhoto({ photo: { file, bitmap, width, height }, work, past: [], future: [], merge: null, active: 0 });
  });

export const findOutline = (): Promise<void> =>
  trying('Opening the photograph', async () => {
    const { photo, work } = useSlabPhoto.getState();
    if (!photo) return;
    const marks = marksForScale(work.marks);
    const asks = { file: photo.file, marks, k1: work.marks.k1, faceId: ++faceIds };
    const { outline, face, rim, defects, notes } = await slabWorker.ask('find', asks, said);
    show({
      ...untouched(outline, notes),
      face,
      rim,
      tapeRim: rim.maskedRimMm !== null,
      defects: defects.map((defect) => ({ defect, on: true })),
    });
  });

export const pasteOutline = (text: string): Promise<void> => trying('Reading the outline', () => takeOutline(text));

export const openOutline = (file: File): Promise<void> =>
  trying('Reading the outline', async () => {
    try {
      await takeOutline(await readTextFile(file, LIMITS.drawingBytes));
    } catch (error) {
      if (error instanceof Cancelled) throw error;
      throw new InputError(`${file.name}: ${(error as Error).message}`);
    }
  });

async function takeOutline(text: string): Promise<void> {
  if (text.trim() === '') throw new RangeError('There is nothing to read: paste the d of a path, or a whole SVG.');
  const { outline, notes } = await slabWorker.ask('paste', { text }, said);
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
    setSlabPhoto({ fault: sentence((error as Error).message) });
  }
}

export function cancelSlabWork(): void {
  slabWorker.stop();
  setSlabPhoto({ busy: null });
}

/** Turns what was found by 90°, clockwise for 1. */
export const turnFound = (draft: Draft, quarters: 1 | -1): void => editWork({ draft: turnDraft(draft, quarters) });

/** Puts the draft with its picture on the piece, as one change of it, and closes the dialog. @param size the slab's size in words. */
export const takeOver = (draft: Draft, size: string): Promise<void> =>
  trying('Opening the photograph', async () => {
    const { outline, face, rim, tapeRim, defects } = draft;
    const maskedRimMm = (tapeRim ? rim?.maskedRimMm : null) ?? null;
    const wanted = defects.flatMap(({ defect, on }) => (on ? [defect] : []));
    const photo = face && (await keptPicture(outline, face));
    changeSlab(slabPart({ outline, wood: photo && { defects: wanted, photo }, maskedRimMm }));
    // Another size: the whole of it comes into view.
    setSession(({ resetToken }) => ({ resetToken: resetToken + 1 }));
    setSlabPhoto({ open: false, fault: null });
    setProof({
      notice: `The slab is now as it was ${face ? 'photographed' : 'drawn'}: ${size}. Undo takes it back.`,
    });
  });

async function keptPicture(turned: Polygon, { quarters, shift, marks, k1 }: Face) {
  const { photo } = useSlabPhoto.getState();
  if (!photo) throw new Error('the photograph is not open any more; open it again');
  const outline = turnPolygon(turned, -quarters);
  const asks = { file: photo.file, marks, k1, outline, shift, quarters };
  const { jpeg, box } = await slabWorker.ask('keep', asks, said);
  return { file: await keepImage(jpeg), box };
}
