import { Cancelled } from '../../core/cancelled.ts';
import type { Point } from '../../core/slab/point.ts';
import { openPatchPhoto } from '../controls/open-patch-photo.ts';
import { ask } from '../proof-client.ts';
import { usePieceStore } from '../stores/piece-store.ts';
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
    setBurnedPhoto({ bitmap: await createImageBitmap(canvas), rgba, corners });
  } catch (error) {
    setBurnedPhoto({ fault: `The photograph ${(error as Error).message}` });
  }
}

let under: AbortController | null = null;

/** Compares the photograph with the proof and corrects the piece by it: one step of undo. */
export async function readBurnedPhoto(): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhoto.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  under?.abort();
  const own = new AbortController();
  under = own;
  setBurnedPhoto({ busy: true, share: 0, fault: null, told: null });
  try {
    const burned = { photo: { width: bitmap.width, height: bitmap.height, rgba }, corners };
    const reading = await ask(
      'burned-reading',
      { piece, photoKey: photo.key, burned },
      { signal: own.signal, onProgress: (share) => setBurnedPhoto({ share }) },
    );
    if (usePieceStore.getState().piece !== piece) {
      setBurnedPhoto({ busy: false, fault: 'The piece has changed meanwhile: read the photograph again.' });
      return;
    }
    if (!reading.agrees) {
      const off = reading.missBefore.toFixed(1);
      throw new Error(
        `Nothing that these coats, this machine and these passes are likely to give looks like that (off by ${off} L*). Check the corners, the light and the settings; nothing was changed.`,
      );
    }
    usePieceStore.getState().change(() => reading.piece);
    setBurnedPhoto({
      busy: false,
      open: false,
      told: `The photograph was compared at ${reading.tiles.toLocaleString()} places. The model was off by ${reading.missBefore.toFixed(1)} L*, now by ${reading.missAfter.toFixed(1)}; the proof shows the piece as it came out. Undo takes it back.`,
    });
  } catch (error) {
    if (under !== own) return;
    const fault = error instanceof Cancelled ? null : error instanceof Error ? error.message : String(error);
    setBurnedPhoto({ busy: false, fault });
  }
}

export const stopReading = (): void => under?.abort();

export function closeBurnedPhoto(): void {
  under?.abort();
  setBurnedPhoto({ open: false, fault: null });
}
