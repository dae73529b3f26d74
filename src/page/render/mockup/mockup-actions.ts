import { fileName } from '../../../base/file-name.ts';
import type { AskOptions } from '../../../base/remote/remote.ts';
import { courseTimeS } from '../../../physics/raster/pass-time.ts';
import type { Piece } from '../../../piece/schema.ts';
import { AT_HOME } from '../../../render/mockup/mockup-scene.ts';
import { FRAMES_PER_S } from '../../../render/mockup/still.ts';
import { type SurfaceInSwaths, shownPhoto } from '../../../render/model/face-map.ts';
import { facePartsOf, faceWidthPx, factsOf, shapeOf } from '../../../render/model/of-piece.ts';
import { ask } from '../../burn/proof-remote.ts';
import { isWhole, type ProofRecord, useProofStore } from '../../burn/proof-store.ts';
import { photoBytes } from '../../files/photo-bytes.ts';
import { saveFile } from '../../files/save-file.ts';
import { makerOf, useMakerStore } from '../../store/maker.ts';
import type { Look } from './messages.ts';
import {
  drawing,
  following,
  MOCKUP_LAMP,
  mockupWorker,
  type ShownSlab,
  setBurn,
  setMockup,
  useBurnStore,
  useMockupStore,
} from './mockup-store.ts';

/** Pixels over the slab's width of what the page shows, and of the quick looks of the band. */
const FACE_PX = 2000;

const BAND_PX = 900;

export const CLIP_SIZE = { width: 1280, height: 960, seconds: 6 } as const;

/** Opens the sheet on a finished proof and draws its face. */
export async function openMockup(record: ProofRecord): Promise<void> {
  const before = useMockupStore.getState().band;
  if (before) for (const address of [before.lighter, before.darker]) URL.revokeObjectURL(address);
  drawing.tell({ fault: null });
  setMockup({ record, shown: null, band: null });
  if (!isWhole(record)) {
    drawing.tell({ fault: 'The proof is not finished yet.' });
    return;
  }
  const shown = await drawing.run('Laying the proof on the slab', (how) =>
    makeFace(record.id, record.piece, record.full, FACE_PX, how),
  );
  if (shown && useMockupStore.getState().record === record) setMockup({ shown });
}

export const closeMockup = (): void => {
  drawing.stop();
  setMockup({ record: null, shown: null });
};

const lookNow = (): Look => {
  const { setting, lamp, stance } = useMockupStore.getState();
  return { setting, lamp, stance };
};

const baseName = (): string => fileName(useMockupStore.getState().record?.piece.name ?? '');

export async function saveStill(widthPx: number, type: 'image/png' | 'image/jpeg'): Promise<void> {
  const { shown } = useMockupStore.getState();
  if (!shown) return;
  const height = Math.round(widthPx * 0.75);
  const blob = await drawing.run('Drawing the still', (how) =>
    mockupWorker.ask('still', { key: shown.key, ...lookNow(), width: widthPx, height, type }, how),
  );
  if (blob) saveFile(`${baseName()}-${lookNow().setting}.${type === 'image/png' ? 'png' : 'jpg'}`, blob, type);
}

export async function saveClip(kind: 'turn' | 'lamp'): Promise<void> {
  const { shown } = useMockupStore.getState();
  if (!shown) return;
  const label = `Drawing ${CLIP_SIZE.seconds * FRAMES_PER_S} frames`;
  const bytes = await drawing.run(label, (how) =>
    mockupWorker.ask('clip', { key: shown.key, ...lookNow(), kind, ...CLIP_SIZE }, how),
  );
  if (bytes) saveFile(`${baseName()}-${kind === 'turn' ? 'turning' : 'lamp'}.webm`, bytes, 'video/webm');
}

/** Two stills at the ends of what is likely; computed once for a proof. */
export async function drawBand(): Promise<void> {
  const { record, band } = useMockupStore.getState();
  if (!record || band) return;
  const made = await drawing.run('Trying likely paints and beams', async ({ onProgress, signal }) => {
    const { piece, photoKey } = record;
    const ends = await ask(
      'likely-ends',
      { piece, photoKey },
      { signal, onProgress: (share) => onProgress(0.5 * share) },
    );
    const keys = { lighter: `${record.id}-lighter`, darker: `${record.id}-darker` };
    const still = async (which: 'lighter' | 'darker', from: number): Promise<string> => {
      const { swath, ...size } = ends[which];
      await makeFace(keys[which], piece, { ...size, swaths: [swath] }, BAND_PX, { signal });
      const asks = { key: keys[which], ...lookNow(), width: 720, height: 540, type: 'image/jpeg' } as const;
      const blob = await mockupWorker.ask('still', asks, {
        signal,
        onProgress: (share) => onProgress(from + 0.25 * share),
      });
      return URL.createObjectURL(blob);
    };
    return { lighter: await still('lighter', 0.5), darker: await still('darker', 0.75), keys };
  });
  if (made && useMockupStore.getState().record === record) setMockup({ band: made });
}

export async function saveClientFile(): Promise<void> {
  await drawBand();
  const { record, shown, band } = useMockupStore.getState();
  if (!record || !shown || !band) return;
  const { piece } = record;
  const maker = makerOf(piece, useMakerStore.getState());
  const asks = { key: shown.key, ...lookNow(), name: piece.name, facts: factsOf(piece), maker, band: band.keys };
  const bytes = await drawing.run('Writing the client’s file', (how) => mockupWorker.ask('page', asks, how));
  if (bytes) saveFile(`${baseName()}.html`, bytes, 'text/html');
}

export async function saveModel(kind: 'glb' | 'usdz'): Promise<void> {
  const { record, shown } = useMockupStore.getState();
  if (!record || !shown) return;
  const bytes = await drawing.run('Writing the model', (how) =>
    mockupWorker.ask('model', { key: shown.key, name: record.piece.name, kind }, how),
  );
  const type = kind === 'glb' ? 'model/gltf-binary' : 'model/vnd.usdz+zip';
  if (bytes) saveFile(`${baseName()}.${kind}`, bytes, type);
}

const CLIP_FACE_PX = 1600;

const CLIP = { width: 1280, height: 960, seconds: 12 } as const;

const SECONDS_PER_MINUTE = 60;

/** Opens the sheet on a finished proof: when each row is burned, and what each pass leaves. */
export async function openBurn(record: ProofRecord): Promise<void> {
  const { full, piece, photoKey, id } = record;
  setBurn({ record, burn: null, seconds: 0, playing: false, pause: null });
  following.tell({ fault: null });
  if (!full || !isWhole(record)) return;
  const burn = await following.run('Working out the rows', async ({ onProgress, signal }) => {
    const several = piece.passes.length > 1;
    const share = several ? 0.7 : 0.2;
    const asks = { piece, photoKey };
    const { courses, between } = await ask('burn-course', asks, {
      signal,
      onProgress: (done) => onProgress(share * done),
    });
    const stages: (SurfaceInSwaths | null)[] = [null, ...between, full];
    const faces: ShownSlab[] = [];
    for (const [i, stage] of stages.entries()) {
      onProgress(share + ((1 - share) * i) / stages.length);
      faces.push(await makeFace(`${id}-stage-${i}`, piece, stage, CLIP_FACE_PX, { signal }));
    }
    const frame = {
      westMm: piece.picture.offsetXMm - (full.width * full.pitchMm) / 2,
      northMm: piece.picture.offsetYMm - (full.height * full.pitchMm) / 2,
      thicknessMm: piece.slab.thicknessMm,
    };
    return { courses, faces, frame, totalS: courseTimeS(courses) };
  });
  if (burn && useBurnStore.getState().record === record) setBurn({ burn });
}

export function closeBurn(): void {
  following.stop();
  setBurn({ record: null, burn: null, playing: false });
}

export function goTo(seconds: number): void {
  const { burn } = useBurnStore.getState();
  if (burn) setBurn({ seconds: Math.min(burn.totalS, Math.max(0, seconds)) });
}

/** What a stop there does; the answer comes a moment later. */
export async function tryPause(pass: number, minute: number, lengthMin: number): Promise<void> {
  const { record } = useBurnStore.getState();
  if (!record) return;
  const point = { pass, minute, lengthMin, effect: null };
  setBurn({ pause: point });
  const pause = { atS: minute * SECONDS_PER_MINUTE, lengthS: lengthMin * SECONDS_PER_MINUTE };
  const effect = await following.run('Working out the heat', ({ signal }) =>
    ask('pause', { piece: record.piece, photoKey: record.photoKey, pass, pause }, { signal }),
  );
  if (effect && useBurnStore.getState().pause === point) setBurn({ pause: { ...point, effect } });
}

export async function saveBurnClip(): Promise<void> {
  const { record, burn } = useBurnStore.getState();
  if (!record || !burn) return;
  const { courses, frame } = burn;
  const asks = { faces: burn.faces.map(({ key }) => key), courses, frame, lamp: MOCKUP_LAMP, stance: AT_HOME, ...CLIP };
  const bytes = await following.run('Drawing the clip', (how) => mockupWorker.ask('burn-clip', asks, how));
  if (bytes) saveFile(`${fileName(record.piece.name)}-burn.webm`, bytes, 'video/webm');
}

/** Only what a worker needs of it. */
const bare = ({ width, height, pitchMm, swaths }: SurfaceInSwaths): SurfaceInSwaths => ({
  width,
  height,
  pitchMm,
  swaths,
});

/**
 * Has a face drawn: the unburned slab, with a burned picture on it or without.
 * @throws Error with words for people while the slab has not been laid out yet.
 */
async function makeFace(
  key: string,
  piece: Piece,
  proof: SurfaceInSwaths | null,
  mostPx: number,
  options?: AskOptions,
): Promise<ShownSlab> {
  const { ground } = useProofStore.getState();
  if (!ground) throw new Error('The slab is still being laid out: try again in a moment.');
  const slab = shapeOf(piece.slab);
  const { wood: _, ...parts } = facePartsOf(piece, bare(ground), proof && bare(proof), null);
  const place = shownPhoto(piece.slab);
  const bytes = place && photoBytes(place.file);
  const photo = place && bytes ? { bytes, place } : null;
  const gets = await mockupWorker.ask(
    'face',
    { key, slab, parts, photo, widthPx: faceWidthPx(piece, mostPx) },
    options,
  );
  return { key, slab, parts: gets.parts, look: { color: gets.color, slopes: gets.slopes } };
}
