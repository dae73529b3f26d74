import type { Piece } from '../../../piece/schema.ts';
import { ageCalibration } from '../../../studies/calibrate/shelf/age.ts';
import { ask } from '../../burn/proof-client.ts';
import { setProof } from '../../burn/proof-store.ts';
import { beginStep, endStep, usePieceStore } from '../../store/piece-store.ts';
import { trying } from './busy.ts';
import { askCalibrate } from './calibrate-client.ts';
import { type Evidence, type FitRecord, setCalibrate, useCalibrate } from './calibrate-store.ts';

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

export const fitReadings = (): Promise<void> =>
  trying('Fitting the numbers', async (signal) => {
    const { work, filmMeasured, changes } = useCalibrate.getState();
    const { piece, photo } = usePieceStore.getState();
    const readings = freshReadings(work.readings, piece);
    const base = ageCalibration(piece, changes);
    const read = readings.map(({ card, reading }) => ({ card, reading }));
    const known = filmMeasured ? ['coat0.thickness'] : [];
    const fit = await askCalibrate('fit', { piece: base, read, known }, signal);
    const record: FitRecord = { fit, base: piece, readings, bands: null };
    setCalibrate({ record });
    if (!photo) return;
    setCalibrate({ busy: 'Trying what the proof may become' });
    const [before, after] = await ask(
      'bands',
      { pieces: [piece, fit.piece], photoKey: photo.key },
      {
        signal,
        onProgress: (share) => setCalibrate({ busy: `Trying what the proof may become, ${Math.round(100 * share)} %` }),
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
    said: 'In use for this piece; one undo on the page takes it back.',
    fault: null,
  }));
  setProof({ notice: 'The piece now has calibrated numbers. Undo takes them back.' });
}
