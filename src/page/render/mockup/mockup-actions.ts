import { Cancelled } from '../../../base/cancelled.ts';
import { FRAMES_PER_S } from '../../../render/mockup/frames.ts';
import { factsOf } from '../../../render/model/of-piece.ts';
import { ask } from '../../burn/proof-client.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { fileName } from '../../files/file-name.ts';
import { saveFile } from '../../files/save-file.ts';
import { makeFace } from './make-face.ts';
import type { Look } from './messages.ts';
import { mockupWorker } from './mockup-client.ts';
import { setMockup, useMockup } from './mockup-store.ts';

/** Pixels over the slab's width of what the page shows, and of the quick looks of the band. */
const FACE_PX = 2000;
const BAND_PX = 900;

export const CLIP_SIZE = { width: 1280, height: 960, seconds: 6 } as const;

/** Runs one piece of work at a time, with its progress and a way to stop it. */
async function work<Value>(
  label: string,
  run: (how: { onProgress: (share: number) => void; signal: AbortSignal }) => Promise<Value>,
): Promise<Value | null> {
  const { busy } = useMockup.getState();
  if (busy) return null;
  const abort = new AbortController();
  const stop = () => abort.abort();
  setMockup({ busy: { label, share: 0, stop }, fault: null });
  try {
    return await run({
      onProgress: (share) => setMockup({ busy: { label, share, stop } }),
      signal: abort.signal,
    });
  } catch (error) {
    if (!(error instanceof Cancelled)) setMockup({ fault: error instanceof Error ? error.message : String(error) });
    return null;
  } finally {
    setMockup({ busy: null });
  }
}

/** Opens the sheet on a finished proof and draws its face. */
export async function openMockup(record: ProofRecord): Promise<void> {
  const before = useMockup.getState().band;
  if (before) for (const address of [before.lighter, before.darker]) URL.revokeObjectURL(address);
  setMockup({ record, shown: null, band: null, fault: null });
  if (!record.full) {
    setMockup({ fault: 'The proof is not finished yet.' });
    return;
  }
  const shown = await work('Laying the proof on the slab', (how) =>
    makeFace(record.id, record.piece, record.full, FACE_PX, how),
  );
  if (shown && useMockup.getState().record === record) setMockup({ shown });
}

export const closeMockup = (): void => {
  useMockup.getState().busy?.stop();
  setMockup({ record: null, shown: null });
};

const lookNow = (): Look => {
  const { setting, lamp, stance } = useMockup.getState();
  return { setting, lamp, stance };
};
const baseName = (): string => fileName(useMockup.getState().record?.piece.name ?? '');

export async function saveStill(widthPx: number, type: 'image/png' | 'image/jpeg'): Promise<void> {
  const { shown } = useMockup.getState();
  if (!shown) return;
  const height = Math.round(widthPx * 0.75);
  const blob = await work('Drawing the still', (how) =>
    mockupWorker.ask('still', { key: shown.key, ...lookNow(), width: widthPx, height, type }, how),
  );
  if (blob) saveFile(`${baseName()}-${lookNow().setting}.${type === 'image/png' ? 'png' : 'jpg'}`, blob, type);
}

export async function saveClip(kind: 'turn' | 'lamp'): Promise<void> {
  const { shown } = useMockup.getState();
  if (!shown) return;
  const label = `Drawing ${CLIP_SIZE.seconds * FRAMES_PER_S} frames`;
  const bytes = await work(label, (how) =>
    mockupWorker.ask('clip', { key: shown.key, ...lookNow(), kind, ...CLIP_SIZE }, how),
  );
  if (bytes) saveFile(`${baseName()}-${kind === 'turn' ? 'turning' : 'lamp'}.webm`, bytes, 'video/webm');
}

/** Two stills at the ends of what is likely; computed once for a proof. */
export async function drawBand(): Promise<void> {
  const { record, band } = useMockup.getState();
  if (!record || band) return;
  const made = await work('Trying likely paints and beams', async ({ onProgress, signal }) => {
    const { piece, photoKey } = record;
    const ends = await ask(
      'likely-ends',
      { piece, photoKey },
      { signal, onProgress: (share) => onProgress(0.5 * share) },
    );
    const keys = { lighter: `${record.id}-lighter`, darker: `${record.id}-darker` };
    const still = async (which: 'lighter' | 'darker', from: number): Promise<string> => {
      const { strip, ...size } = ends[which];
      await makeFace(keys[which], piece, { ...size, strips: [strip] }, BAND_PX, { signal });
      const asks = { key: keys[which], ...lookNow(), width: 720, height: 540, type: 'image/jpeg' } as const;
      const blob = await mockupWorker.ask('still', asks, {
        signal,
        onProgress: (share) => onProgress(from + 0.25 * share),
      });
      return URL.createObjectURL(blob);
    };
    return { lighter: await still('lighter', 0.5), darker: await still('darker', 0.75), keys };
  });
  if (made && useMockup.getState().record === record) setMockup({ band: made });
}

export async function saveClientFile(): Promise<void> {
  await drawBand();
  const { record, shown, band } = useMockup.getState();
  if (!record || !shown || !band) return;
  const asks = { key: shown.key, ...lookNow(), name: record.piece.name, facts: factsOf(record.piece), band: band.keys };
  const bytes = await work('Writing the client’s file', (how) => mockupWorker.ask('page', asks, how));
  if (bytes) saveFile(`${baseName()}.html`, bytes, 'text/html');
}

export async function saveModel(kind: 'glb' | 'usdz'): Promise<void> {
  const { record, shown } = useMockup.getState();
  if (!record || !shown) return;
  const bytes = await work('Writing the model', (how) =>
    mockupWorker.ask('model', { key: shown.key, name: record.piece.name, kind }, how),
  );
  const type = kind === 'glb' ? 'model/gltf-binary' : 'model/vnd.usdz+zip';
  if (bytes) saveFile(`${baseName()}.${kind}`, bytes, type);
}
