import { Cancelled } from '../../../base/cancelled.ts';
import type { Point } from '../../../base/geometry/point.ts';
import { ask } from '../../burn/proof-client.ts';
import { openPatchPhoto } from '../../fields/open-patch-photo.ts';
import { usePieceStore } from '../../store/piece-store.ts';
import { setBurnedPhoto, useBurnedPhoto } from './burned-photo-store.ts';

/** Share of the photo's sides at which the corners start out. */
const INSET = 0.08;

export async function openBurnedPhoto(file: File): Promise<void> {
  setBurnedPhoto({ fault: null });
  try {
    const canvas = await openPatchPhoto(file);
    const { width, height } = canvas;
    const rgba = canvas.getContext('2d')?.getImageData(0, 0, width, height).data ?? null;
    useBurnedPhoto.getState().bitmap?.close();
    const [x, y] = [INSET * width, INSET * height];
    const corners: Point[] = [
      [x, y],
      [width - x, y],
      [width - x, height - y],
      [x, height - y],
    ];
    setBurnedPhoto({ bitmap: await createImageBitmap(canvas), rgba, corners, found: false });
  } catch (error) {
    setBurnedPhoto({ fault: `The photograph ${(error as Error).message}` });
    return;
  }
  await findSlab(null);
}

let under: AbortController | null = null;

/** Runs a question about the photograph: one at a time, with its progress. Null if it was stopped, or went wrong and is told. */
async function asked<Gets>(
  busy: string,
  question: (options: { signal: AbortSignal; onProgress: (share: number) => void }) => Promise<Gets>,
): Promise<{ readonly gets: Gets } | null> {
  under?.abort();
  const own = new AbortController();
  under = own;
  setBurnedPhoto({ busy, share: 0, fault: null, misfit: null, told: null });
  try {
    const gets = await question({ signal: own.signal, onProgress: (share) => setBurnedPhoto({ share }) });
    if (under !== own) return null;
    setBurnedPhoto({ busy: null });
    return { gets };
  } catch (error) {
    if (under !== own) return null;
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setBurnedPhoto({ busy: null, fault });
    return null;
  }
}

/** Lays the corners where the photograph shows the slab; `near`: from where they lie, otherwise all over the photograph. */
export async function findSlab(near: 'near' | null): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhoto.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { width: bitmap.width, height: bitmap.height, rgba };
  const asks = { piece, photoKey: photo.key, burned, near: near && corners };
  const answer = await asked('Looking for the slab', (options) => ask('burned-corners', asks, options));
  if (!answer) return;
  if (answer.gets) setBurnedPhoto({ corners: answer.gets.corners, found: true });
  else setBurnedPhoto({ fault: 'The slab was not recognised in this photograph: drag its four corners into place.' });
}

/** Compares the photograph with the proof and corrects the piece by it: one step of undo. */
export async function readBurnedPhoto(): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhoto.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { photo: { width: bitmap.width, height: bitmap.height, rgba }, corners };
  const asks = { piece, photoKey: photo.key, burned };
  const answer = await asked('Comparing', (options) => ask('burned-reading', asks, options));
  if (!answer) return;
  const { gets: reading } = answer;
  if (usePieceStore.getState().piece !== piece) {
    setBurnedPhoto({ fault: 'The piece has changed meanwhile: read the photograph again.' });
    return;
  }
  if (!reading.agrees) {
    const off = reading.missAfter.toFixed(1);
    setBurnedPhoto({
      fault: `Nothing that these coats, this machine and these passes are likely to give looks like that: the nearest is off by ${off} L* on average. Check the corners, the light and the settings; nothing was changed.`,
      misfit: { columns: reading.columns, seenL: reading.seenL, modelL: reading.modelL },
    });
    return;
  }
  usePieceStore.getState().change(() => reading.piece);
  setBurnedPhoto({
    open: false,
    told: `The photograph was compared at ${reading.tiles.toLocaleString()} places. The model was off by ${reading.missBefore.toFixed(1)} L*, now by ${reading.missAfter.toFixed(1)}; the proof shows the piece as it came out. Undo takes it back.`,
  });
}

export const stopReading = (): void => under?.abort();

export function closeBurnedPhoto(): void {
  under?.abort();
  setBurnedPhoto({ open: false, fault: null });
}
