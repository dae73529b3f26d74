import { Cancelled } from '../../../base/cancelled.ts';
import { courseTimeS } from '../../../physics/raster/burn-clock.ts';
import { AT_HOME } from '../../../render/mockup/stance.ts';
import type { StrippedSurface } from '../../../render/model/face-map.ts';
import { ask } from '../../burn/proof-client.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { fileName } from '../../files/file-name.ts';
import { saveFile } from '../../files/save-file.ts';
import { setBurn, useBurn } from './burn-store.ts';
import { makeFace } from './make-face.ts';
import { mockupWorker } from './mockup-client.ts';
import { MOCKUP_LAMP, type ShownSlab } from './mockup-store.ts';

const FACE_PX = 1600;
const CLIP = { width: 1280, height: 960, seconds: 12 } as const;
const SECONDS_PER_MINUTE = 60;

async function work<Value>(
  label: string,
  run: (how: { onProgress: (share: number) => void; signal: AbortSignal }) => Promise<Value>,
): Promise<Value | null> {
  if (useBurn.getState().busy) return null;
  const abort = new AbortController();
  const stop = () => abort.abort();
  setBurn({ busy: { label, share: 0, stop }, fault: null });
  try {
    return await run({ onProgress: (share) => setBurn({ busy: { label, share, stop } }), signal: abort.signal });
  } catch (error) {
    if (!(error instanceof Cancelled)) setBurn({ fault: error instanceof Error ? error.message : String(error) });
    return null;
  } finally {
    setBurn({ busy: null });
  }
}

/** Opens the sheet on a finished proof: when each row is burned, and what each pass leaves. */
export async function openBurn(record: ProofRecord): Promise<void> {
  const { full, piece, photoKey, id } = record;
  setBurn({ record, burn: null, seconds: 0, playing: false, pause: null, fault: null });
  if (!full) return;
  const burn = await work('Working out the rows', async ({ onProgress, signal }) => {
    const several = piece.passes.length > 1;
    const share = several ? 0.7 : 0.2;
    const asks = { piece, photoKey };
    const { courses, between } = await ask('burn-course', asks, {
      signal,
      onProgress: (done) => onProgress(share * done),
    });
    const stages: (StrippedSurface | null)[] = [null, ...between, full];
    const faces: ShownSlab[] = [];
    for (const [i, stage] of stages.entries()) {
      onProgress(share + ((1 - share) * i) / stages.length);
      faces.push(await makeFace(`${id}-stage-${i}`, piece, stage, FACE_PX, { signal }));
    }
    const frame = {
      westMm: piece.picture.offsetXMm - (full.width * full.pitchMm) / 2,
      northMm: piece.picture.offsetYMm - (full.height * full.pitchMm) / 2,
      thicknessMm: piece.slab.thicknessMm,
    };
    return { courses, faces, frame, totalS: courseTimeS(courses) };
  });
  if (burn && useBurn.getState().record === record) setBurn({ burn });
}

export function closeBurn(): void {
  useBurn.getState().busy?.stop();
  setBurn({ record: null, burn: null, playing: false });
}

export function goTo(seconds: number): void {
  const { burn } = useBurn.getState();
  if (burn) setBurn({ seconds: Math.min(burn.totalS, Math.max(0, seconds)) });
}

/** What a stop there does; the answer comes a moment later. */
export async function tryPause(pass: number, minute: number, lengthMin: number): Promise<void> {
  const { record } = useBurn.getState();
  if (!record) return;
  const point = { pass, minute, lengthMin, effect: null };
  setBurn({ pause: point });
  const pause = { atS: minute * SECONDS_PER_MINUTE, lengthS: lengthMin * SECONDS_PER_MINUTE };
  const effect = await work('Working out the heat', ({ signal }) =>
    ask('pause', { piece: record.piece, photoKey: record.photoKey, pass, pause }, { signal }),
  );
  if (effect && useBurn.getState().pause === point) setBurn({ pause: { ...point, effect } });
}

export async function saveBurnClip(): Promise<void> {
  const { record, burn } = useBurn.getState();
  if (!record || !burn) return;
  const { courses, frame } = burn;
  const asks = { faces: burn.faces.map(({ key }) => key), courses, frame, lamp: MOCKUP_LAMP, stance: AT_HOME, ...CLIP };
  const bytes = await work('Drawing the clip', (how) => mockupWorker.ask('burn-clip', asks, how));
  if (bytes) saveFile(`${fileName(record.piece.name)}-burn.webm`, bytes, 'video/webm');
}
