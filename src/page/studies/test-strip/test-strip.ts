import { Cancelled } from '../../../base/cancelled.ts';
import type { StripOrder } from '../../../studies/test-strip/strip-order.ts';
import { ask } from '../../burn/proof-client.ts';
import { saveFile } from '../../files/save-file.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { setStrip, useStripStore } from './strip-store.ts';

/** Size of the part that is tried at first, mm: what is told apart at arm's length, and short to burn. */
const FIRST_CROP = { widthMm: 40, heightMm: 10 };
/** Powers tried at first, over the last pass's. */
const FIRST_FROM = 0.7;
const FIRST_TO = 1.3;

let under: AbortController | null = null;

const keyOf = (): string => usePieceStore.getState().photo?.key ?? '';

/** Takes an order to start from, or says why there is none. */
export async function firstOrder(): Promise<void> {
  setStrip({ fault: null });
  try {
    setStrip({ order: await likelyOrder() });
  } catch (error) {
    setStrip({ fault: (error as Error).message });
  }
}

/** The part of the picture that tells most, powers round those of the last pass. */
async function likelyOrder(): Promise<StripOrder> {
  const { piece } = usePieceStore.getState();
  const { widthMm, heightMm } = FIRST_CROP;
  const width = Math.min(widthMm, piece.picture.widthMm / 2);
  const crop = await ask('telling-crop', { piece, photoKey: keyOf(), widthMm: width, heightMm });
  const power = piece.passes[piece.passes.length - 1].lightEndPower;
  const round = (share: number) => Math.min(1, Math.round(100 * share) / 100);
  return {
    crop: { xMm: Math.round(crop.xMm), yMm: Math.round(crop.yMm), widthMm: Math.round(width), heightMm },
    vary: 'power',
    from: round(FIRST_FROM * power),
    to: round(Math.max(FIRST_TO * power, power + 0.1)),
    bands: 5,
  };
}

/** Proves the strip; what was under way is given up. */
export async function burnStrip(): Promise<void> {
  const { order, pictureUrl } = useStripStore.getState();
  if (!order) return;
  const { piece } = usePieceStore.getState();
  if (pictureUrl) URL.revokeObjectURL(pictureUrl);
  setStrip({ strip: null, pictureUrl: null, askedFor: piece, askedWith: order, clears: -1, scorches: -1 });
  await busily('burning', async (options) => {
    const strip = await ask('test-strip', { piece, photoKey: keyOf(), order }, options);
    const url = URL.createObjectURL(new Blob([strip.picture as BlobPart], { type: 'image/png' }));
    setStrip({ strip, pictureUrl: url });
  });
}

/** Takes in what the maker saw on the burned strip: one step of undo. */
export async function takeStripIn(): Promise<void> {
  const { askedWith: order, clears, scorches } = useStripStore.getState();
  if (!order || clears < 0) return;
  const { piece } = usePieceStore.getState();
  const answer = { clears: clears || null, ...(scorches >= 0 && { scorches: scorches || null }) };
  await busily('learning', async (options) => {
    const lesson = await ask('strip-lesson', { piece, photoKey: keyOf(), order, answer }, options);
    if (usePieceStore.getState().piece !== piece) return;
    if (!lesson.agrees) {
      throw new Error(
        'No such paint and machine would give these bands. Check that the strip was burned with these coats, watts and focus; nothing was taken in.',
      );
    }
    usePieceStore.getState().change(() => lesson.piece);
    const [before, after] = [piece, lesson.piece].map(({ stack }) => stack.coats[0]);
    setStrip({
      done: `Taken in: the top coat’s threshold changes by ${change(before.thresholdJPerMm2, after.thresholdJPerMm2)}, its specific energy by ${change(before.specificEnergyJPerMm3, after.specificEnergyJPerMm3)}. Undo takes it back.`,
    });
  });
}

export const stopStrip = (): void => under?.abort();

export function saveStrip(): void {
  const { strip } = useStripStore.getState();
  const name = usePieceStore.getState().piece.name || 'piece';
  if (strip) saveFile(`${name}, test strip.foreburn`, strip.file, 'application/zip');
}

async function busily(
  busy: 'burning' | 'learning',
  work: (options: { signal: AbortSignal; onProgress: (share: number) => void }) => Promise<void>,
): Promise<void> {
  under?.abort();
  const own = new AbortController();
  under = own;
  setStrip({ busy, share: 0, fault: null, done: null });
  try {
    await work({ signal: own.signal, onProgress: (share) => setStrip({ share }) });
    setStrip({ busy: null });
  } catch (error) {
    if (under !== own) return;
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setStrip({ busy: null, fault });
  }
}

const change = (before: number, after: number): string => {
  const percent = Math.round((100 * after) / before - 100);
  return `${percent > 0 ? '+' : percent < 0 ? '−' : ''}${Math.abs(percent)} %`;
};
