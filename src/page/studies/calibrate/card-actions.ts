import type { Point } from '../../../base/geometry/outline.ts';
import { fitProblems } from '../../../base/input-error.ts';
import { askOnce } from '../../../base/remote/remote.ts';
import { createPiece } from '../../../piece/defaults.ts';
import type { LogEntry, Piece } from '../../../piece/schema.ts';
import { usersOf } from '../../../shop/renewal.ts';
import {
  ageCalibration,
  exportShelf,
  importShelf,
  mergeShelves,
  putOnShelf,
  referTo,
  type ShelfEntry,
  shelve,
  takeFromShelf,
} from '../../../studies/calibrate/shelf/shelf.ts';
import { type Card, markCentres, parseCard } from '../../../vision/card/card.ts';
import {
  type CardReading,
  type LightAreas,
  offsetOfPair,
  readByEye,
  slabOutcome,
} from '../../../vision/card/reading.ts';
import { ask } from '../../burn/proof-remote.ts';
import { duration, setProof } from '../../burn/proof-store.ts';
import { inBackground } from '../../faults/lazy-part.tsx';
import { readTextFile } from '../../files/photo-bytes.ts';
import { saveFile } from '../../files/save-file.ts';
import { createTask, faultOf } from '../../remote/task.ts';
import { openWorker } from '../../remote/worker-port.ts';
import { listPieces } from '../../store/board-rows.ts';
import { openDatabase } from '../../store/database.ts';
import { useKeepingStore } from '../../store/keeping.ts';
import { beginStep, changeAside, endStep, usePieceStore } from '../../store/piece-store.ts';
import { keepShelf, openShelf } from '../../store/shelf.ts';
import {
  type CardPhoto,
  calibrating,
  cardDrawing,
  type Evidence,
  editWork,
  type FitRecord,
  KIND_LABELS,
  keepCard,
  keepDrawing,
  keptCards,
  NO_NOTES,
  setCalibrate,
  today,
  useCalibrateStore,
  type Work,
} from './calibrate-store.ts';
import type { CalibrateName, CalibrateQuestions } from './messages.ts';

/** Makes the card anew for what is chosen and the piece as it is; a card that was saved or read stays. */
export async function drawCard(piece: Piece, { kind, wish }: Pick<Work, 'kind' | 'wish'>): Promise<void> {
  const drawn = await cardDrawing.run('Drawing the card', ({ signal }) =>
    askCalibrate('card', { piece, kind, wish }, signal),
  );
  if (drawn) setCalibrate(drawn);
}

/** Chooses what the next card is; it follows the piece again until it is saved. */
export function chooseCard(part: Partial<Pick<Work, 'kind' | 'wish'>>): void {
  setCalibrate({ cardKept: false });
  editWork({ ...part, notes: NO_NOTES });
}

const weighing = createTask();

/** Works out which card tells most, beside everything else. Where none fits the maker chooses without advice. */
export async function weighCards(piece: Piece, widthMm: number, heightMm: number): Promise<void> {
  const key = JSON.stringify([piece.stack, piece.machine, piece.certainty, piece.passes[0], widthMm, heightMm]);
  if (useCalibrateStore.getState().worthsFor === key) return;
  setCalibrate({ worths: null, worthsFor: key });
  const worths = await weighing.run('Weighing the cards', ({ signal }) =>
    askCalibrate('propose', { piece, widthMm, heightMm }, signal),
  );
  if (useCalibrateStore.getState().worthsFor === key) setCalibrate({ worths: worths ?? [] });
}

async function keep(card: Card): Promise<void> {
  setCalibrate({ cardKept: true });
  // Without room in the browser the card's own file is what is left.
  await keepCard(card, today()).then(
    (cards) => setCalibrate({ cards }),
    () => {},
  );
}

export const saveCardJob = (): Promise<unknown> =>
  calibrating.run('Writing the programs', async ({ signal }) => {
    const { card } = useCalibrateStore.getState();
    if (!card) return;
    const made = await askCalibrate('job', { piece: usePieceStore.getState().piece, card }, signal);
    if ('refusals' in made) throw new Error(made.refusals.map(({ message }) => message).join(' '));
    saveFile(`card-${card.id}.zip`, made.zip, 'application/zip');
    await keep(card);
    const programs = made.programs === 1 ? 'one program' : `${made.programs} programs, to be run in their order`;
    calibrating.tell({
      said: `Saved card-${card.id}.zip: ${programs}, ${duration(made.timeS)} of burning. ${made.cautions.join(' ')}`.trim(),
    });
  });

export const saveCardPiece = (): Promise<unknown> =>
  calibrating.run('Drawing the card', async ({ signal }) => {
    const { card } = useCalibrateStore.getState();
    if (!card) return;
    const bytes = await askCalibrate('piece', { piece: usePieceStore.getState().piece, card }, signal);
    saveFile(`card-${card.id}.foreburn`, bytes, 'application/zip');
    await keep(card);
    calibrating.tell({
      said: `Saved card-${card.id}.foreburn; open it as a piece to proof it or to set its place on the bed.`,
    });
  });

export function saveCardData(): void {
  const { card } = useCalibrateStore.getState();
  if (!card) return;
  saveFile(`card-${card.id}.json`, new TextEncoder().encode(`${JSON.stringify(card, null, 2)}\n`), 'application/json');
  inBackground(keep(card));
  calibrating.tell({ said: `Saved card-${card.id}.json; it is what the card is read by later.`, fault: null });
}

const show = (card: Card, signal: AbortSignal): Promise<void> =>
  askCalibrate('looks', { piece: usePieceStore.getState().piece, card }, signal).then((looks) => {
    cardDrawing.tell({ fault: null });
    setCalibrate({ card, looks, cardKept: true, photo: null });
  });

/** Shows a card that was saved before. */
export const takeCard = (card: Card): Promise<unknown> =>
  calibrating.run('Drawing the card', async ({ signal }) => {
    await show(card, signal);
    editWork({ notes: NO_NOTES });
  });

export const openCardFile = (file: File): Promise<unknown> =>
  calibrating.run('Opening the card', async ({ signal }) => {
    let card: Card;
    try {
      card = parseCard(await readTextFile(file));
    } catch (error) {
      throw new Error(`${file.name}: ${(error as Error).message}`);
    }
    await show(card, signal);
    editWork({ notes: NO_NOTES });
    calibrating.tell({ said: `Card ${card.id}, ${KIND_LABELS[card.kind].toLowerCase()}, is ready to be read.` });
  });

export const openKeptCards = (): Promise<void> =>
  keptCards().then(
    (cards) => setCalibrate({ cards }),
    () => {},
  );

const calibrateWorker = openWorker(
  () => new Worker(new URL('./calibrate-worker.ts', import.meta.url), { type: 'module' }),
  'works on calibrations',
);

/** Asks something that takes long, of a worker of its own: it can be stopped in the middle, and questions do not wait for each other. */
const askCalibrate = <Name extends CalibrateName>(
  name: Name,
  asks: CalibrateQuestions[Name]['asks'],
  signal?: AbortSignal,
): Promise<CalibrateQuestions[Name]['gets']> =>
  askOnce<CalibrateQuestions, Name>(calibrateWorker, name, asks, { signal });

/** Tells one calibration from another; empty for a preset. */
export const calibrationKey = ({ certainty }: Piece): string =>
  certainty.source === 'calibrated' ? JSON.stringify(certainty.covariance) : '';

/** Whether a fit is what the piece has now, still fits it, or the piece has become another since. */
export function standingOf({ fit, base }: FitRecord, piece: Piece): 'in use' | 'open' | 'stale' {
  if (calibrationKey(piece) === calibrationKey(fit.piece)) return 'in use';
  const same = (['stack', 'machine', 'heat', 'certainty'] as const).every((part) => piece[part] === base[part]);
  return same ? 'open' : 'stale';
}

/** Readings that the piece's numbers do not hold yet. */
export const freshReadings = (readings: readonly Evidence[], piece: Piece): Evidence[] =>
  readings.filter(({ usedIn }) => !usedIn.includes(calibrationKey(piece)));

export const fitReadings = (): Promise<unknown> =>
  calibrating.run('Fitting the numbers', async ({ signal, goOn }) => {
    const { work, filmMeasured, changes } = useCalibrateStore.getState();
    const { piece, photo } = usePieceStore.getState();
    const readings = freshReadings(work.readings, piece);
    const base = ageCalibration(piece, changes);
    const read = readings.map(({ card, reading }) => ({ card, reading }));
    const known = filmMeasured ? ['coat0.thickness'] : [];
    const fit = await askCalibrate('fit', { piece: base, read, known }, signal);
    const record: FitRecord = { fit, base: piece, readings, bands: null };
    setCalibrate({ record });
    if (!photo) return;
    goOn('Trying other likely paints and beams');
    const [before, after] = await ask(
      'bands',
      { pieces: [piece, fit.piece], photoKey: photo.key },
      {
        signal,
        onProgress: (share) => goOn(`Trying other likely paints and beams, ${Math.round(100 * share)} %`),
      },
    );
    if (!before || !after) return;
    setCalibrate(({ record: now }) => (now?.fit === fit ? { record: { ...now, bands: { before, after } } } : {}));
  });

/** Puts the fitted numbers on the piece, as one change of it. */
export function applyNumbers(record: FitRecord): void {
  const { piece: fitted } = record.fit;
  beginStep();
  usePieceStore.getState().change((piece) => ({
    ...piece,
    stack: fitted.stack,
    machine: fitted.machine,
    heat: fitted.heat,
    certainty: fitted.certainty,
    slab: { ...piece.slab, wood: { ...piece.slab.wood, scorchOnsetJPerMm2: fitted.slab.wood.scorchOnsetJPerMm2 } },
    passes: record.fit.rowOffsetMm
      ? piece.passes.map((pass) => ({ ...pass, rowOffsetErrorMm: fitted.passes[0].rowOffsetErrorMm }))
      : piece.passes,
  }));
  endStep();
  const held = calibrationKey(record.base);
  const key = calibrationKey(fitted);
  setCalibrate(({ work }) => ({
    work: {
      ...work,
      readings: work.readings.map((one) =>
        record.readings.includes(one) || (held !== '' && one.usedIn.includes(held))
          ? { ...one, usedIn: [...one.usedIn, key] }
          : one,
      ),
    },
    changes: { batch: false, machine: false },
  }));
  calibrating.tell({ said: 'In use for this piece; one undo on the page takes it back.', fault: null });
  setProof({ notice: 'The piece now has calibrated numbers. Undo takes them back.' });
}

/** Puts a reading in place of one of the same card. */
function takeReading(card: Card, reading: CardReading, title: string): void {
  const { readings } = useCalibrateStore.getState().work;
  const evidence: Evidence = { card, reading, title, usedIn: [] };
  const others = readings.filter((one) => one.card.id !== card.id || one.card.kind !== card.kind);
  editWork({ readings: [...others, evidence] });
  setCalibrate({ cardKept: true, record: null });
}

const titleOf = (card: Card, how: string): string => `${KIND_LABELS[card.kind]} ${card.id}, read ${how}`;

/** Keeps what the eye saw. @returns whether it made a reading. */
export function keepNotes(): boolean {
  const { card, work } = useCalibrateStore.getState();
  if (!card) return false;
  try {
    const ladders = card.ladders.flatMap(({ name }) => {
      const seen = work.notes.ladders[name];
      return seen ? [{ ladder: name, ...seen }] : [];
    });
    const { widths, pair } = work.notes;
    if (pair !== null) offsetOfPair(card, pair);
    takeReading(card, readByEye(card, { ladders, widths, pair }), titleOf(card, 'by eye'));
    calibrating.tell({ said: 'Kept. Fit it, or read another card as well.' });
    return true;
  } catch (error) {
    calibrating.tell({ fault: faultOf(error), said: null });
    return false;
  }
}

const chipOf = (lightness: number | null) =>
  lightness === null ? null : ([lightness, 0, 0] as [number, number, number]);

export const openCardPhoto = (file: File): Promise<unknown> =>
  calibrating.run('Looking for the card', async ({ signal }) => {
    const { bitmap } = await askCalibrate('open', { file }, signal);
    setCalibrate({ photo: { file, bitmap, corners: null, byHand: false } });
    await readPhoto(signal);
  });

export const readAgain = (): Promise<unknown> => calibrating.run('Reading the card', ({ signal }) => readPhoto(signal));

async function readPhoto(signal: AbortSignal): Promise<void> {
  const { card, photo, chipLightness } = useCalibrateStore.getState();
  if (!card || !photo) return;
  const { piece } = usePieceStore.getState();
  const corners = photo.byHand ? photo.corners : null;
  const asks = { file: photo.file, card, piece, chip: chipOf(chipLightness), corners };
  const { reading, marksPx, warning } = await askCalibrate('read', asks, signal);
  // Whatever was moved meanwhile is not what was read.
  setCalibrate((now) => (now.photo === photo ? { photo: { ...photo, corners: marksPx } } : {}));
  takeReading(card, reading, titleOf(card, 'off a photograph'));
  calibrating.tell({ said: `Read. ${warning ? `${warning} ` : ''}Check the corners and the patches, then fit.` });
}

/** Lays the four corners on the photo for the maker to place. */
export function placeCorners(photo: CardPhoto, card: Card): void {
  const { width, height } = photo.bitmap;
  const scale = 0.8 * Math.min(width / card.widthMm, height / card.heightMm);
  const corners = markCentres(card).map(
    ([x, y]): Point => [width / 2 + scale * (x - card.widthMm / 2), height / 2 + scale * (y - card.heightMm / 2)],
  );
  setCalibrate({ photo: { ...photo, corners, byHand: true } });
  calibrating.tell({ fault: null });
}

export function moveCorner(photo: CardPhoto, index: number, [x, y]: Point): void {
  if (!photo.corners) return;
  const { width, height } = photo.bitmap;
  const at: Point = [Math.min(width, Math.max(0, x)), Math.min(height, Math.max(0, y))];
  setCalibrate({
    photo: { ...photo, byHand: true, corners: photo.corners.map((corner, i) => (i === index ? at : corner)) },
  });
}

/** A finished slab as evidence. @returns whether it tells something. */
export function takeSlab({ passes, burnedAt }: Pick<LogEntry, 'passes' | 'burnedAt'>, areas: LightAreas): boolean {
  try {
    const { card, reading } = slabOutcome(usePieceStore.getState().piece, passes, areas);
    takeReading(card, reading, `Finished slab, ${burnedAt.slice(0, 10)}`);
    setCalibrate({ part: 'fit' });
    return true;
  } catch (error) {
    calibrating.tell({ fault: faultOf(error) });
    return false;
  }
}

let reading: Promise<void> | null = null;

/** Reads what this browser keeps, once, and keeps it up to date from then on. */
export const openOwnShelf = (): Promise<void> => {
  reading ??= openShelf()
    .then(({ entries, refused }) => {
      setCalibrate(({ work }) => ({ work: { ...work, entries } }));
      if (refused.length > 0) {
        calibrating.tell({ fault: `The shelf of this browser: ${fitProblems(refused).join(' ')}` });
      }
      let kept = entries;
      useCalibrateStore.subscribe(({ work }) => {
        if (work.entries === kept) return;
        const before = kept;
        kept = work.entries;
        keepShelf(before, kept).catch(() =>
          calibrating.tell({ fault: 'This browser has no room to keep the shelf; export it as a file.' }),
        );
      });
    })
    .catch((error: Error) => {
      calibrating.tell({ fault: `The shelf of this browser cannot be read: ${error.message}. It is left as it is.` });
    });
  return reading;
};

/** Keeps the piece's numbers by a name, with a drawing of the card they came from. @returns whether it is there. */
export async function shelvePiece(name: string): Promise<boolean> {
  await calibrating.run('Keeping it', async () => {
    const { card, looks, work, record } = useCalibrateStore.getState();
    const { piece } = usePieceStore.getState();
    const from = record?.readings.at(-1) ?? work.readings.at(-1);
    const drawing =
      from && looks && card && from.card.id === card.id
        ? await keepDrawing({ card, looks: { ...looks, patches: { ...looks.patches, ...readLabs(from) } } })
        : '';
    if (name.trim() === '') throw new Error('give it a name to keep it by');
    const entry = shelve(piece, { name: name.trim(), date: today(), cardPicture: drawing });
    const { entries } = putOnShelf({ entries: work.entries }, entry);
    const kept = entries.find((one) => one.name === entry.name)!;
    editWork({ entries });
    setCalibrate({ chosen: kept.name });
    changeAside((now) => ({ ...now, shelfEntry: referTo(kept) }));
    calibrating.tell({ said: `“${kept.name}” is on the shelf.${await othersWords(kept)}` });
  });
  return calibrating.state().fault === null;
}

/** Says where pieces that use older numbers of an entry are renewed. */
async function othersWords(entry: ShelfEntry): Promise<string> {
  const rows = await listPieces(await openDatabase());
  const { id } = useKeepingStore.getState();
  const others = usersOf(
    entry,
    rows.filter((row) => row.id !== id),
  ).length;
  if (others === 0) return '';
  return others === 1
    ? ' One other piece has its older numbers: the board renews it.'
    : ` ${others} other pieces have its older numbers: the board renews them.`;
}

const readLabs = ({ reading: { patches } }: Evidence) => Object.fromEntries(patches.map(({ id, lab }) => [id, lab]));

export function takeEntry(entry: ShelfEntry): void {
  usePieceStore.getState().change((piece) => takeFromShelf(piece, entry));
  calibrating.tell({
    said: `This piece now has the numbers of “${entry.name}”; one undo on the page takes it back.`,
    fault: null,
  });
  setProof({ notice: `The piece now has the numbers of “${entry.name}”. Undo takes them back.` });
}

/** @returns why the name cannot be had; null if it can. */
export function renameEntry(entry: ShelfEntry, name: string): string | null {
  const { entries } = useCalibrateStore.getState().work;
  const wanted = name.trim();
  if (wanted === '') return 'A name is needed.';
  if (wanted === entry.name) return null;
  if (entries.some((one) => one.name === wanted)) return `There is another “${wanted}” on the shelf.`;
  editWork({ entries: entries.map((one) => (one === entry ? { ...one, name: wanted } : one)) });
  setCalibrate({ chosen: wanted });
  return null;
}

export function removeEntry(entry: ShelfEntry): void {
  const { entries } = useCalibrateStore.getState().work;
  editWork({ entries: entries.filter((one) => one !== entry) });
  setCalibrate({ chosen: null });
  calibrating.tell({ said: `“${entry.name}” is off the shelf; Undo brings it back.` });
}

export const exportOwnShelf = (entries: readonly ShelfEntry[]): void =>
  saveFile('shelf.json', new TextEncoder().encode(exportShelf({ entries })), 'application/json');

export const importShelfFile = (file: File): Promise<unknown> =>
  calibrating.run('Opening the shelf', async () => {
    let theirs: ReturnType<typeof importShelf>;
    try {
      theirs = importShelf(await readTextFile(file));
    } catch (error) {
      throw new Error(`${file.name}: ${(error as Error).message}`);
    }
    const { entries } = useCalibrateStore.getState().work;
    const { shelf, refused } = theirs;
    if (shelf.entries.length > 0) editWork({ entries: mergeShelves({ entries }, shelf).entries });
    const told = fitProblems(refused.map(({ name, reason }) => `“${name}”: ${reason}`)).join('; ');
    calibrating.tell({
      said: `${shelf.entries.length} taken in from ${file.name}.`,
      fault: refused.length > 0 ? `${refused.length} refused, the rest is as it was. ${told}.` : null,
    });
  });

/** A check strip for the numbers of an entry, on the piece as it is. */
export const makeCheckStrip = (entry: ShelfEntry): Promise<unknown> =>
  calibrating.run('Drawing the check strip', async ({ signal }) => {
    const piece = takeFromShelf(usePieceStore.getState().piece, entry);
    const { wish } = useCalibrateStore.getState().work;
    const { card, looks } = await askCalibrate('card', { piece, kind: 'check-strip', wish }, signal);
    editWork({ kind: 'check-strip', notes: NO_NOTES });
    cardDrawing.tell({ fault: null });
    setCalibrate({
      card,
      looks,
      cardKept: true,
      part: 'card',
    });
    calibrating.tell({ said: `A check strip for “${entry.name}”: burn it, read it, then come back to the shelf.` });
  });

export const checkEntry = (entry: ShelfEntry, { card, reading: read }: Evidence): Promise<unknown> =>
  calibrating.run('Comparing', async ({ signal }) => {
    const piece = takeFromShelf(createPiece('', ''), entry);
    const drift = await askCalibrate('drift', { piece, card, reading: read }, signal);
    setCalibrate({ drift: { name: entry.name, drift } });
  });
