import { create } from 'zustand';
import type { Point } from '../../../base/geometry/outline.ts';
import { ask } from '../../burn/proof-remote.ts';
import { openPatchPhoto } from '../../fields/open-patch-photo.ts';
import { createTask } from '../../remote/task.ts';
import { usePieceStore } from '../../store/piece-store.ts';

/** Share of the photo's sides at which the corners start out. */
const INSET = 0.08;

/** The photograph being opened, or compared. */
export const comparing = createTask();

export async function openBurnedPhoto(file: File): Promise<void> {
  comparing.tell({ fault: null });
  try {
    const canvas = await openPatchPhoto(file);
    const { width, height } = canvas;
    const rgba = canvas.getContext('2d')?.getImageData(0, 0, width, height).data ?? null;
    useBurnedPhotoStore.getState().bitmap?.close();
    const [x, y] = [INSET * width, INSET * height];
    const corners: Point[] = [
      [x, y],
      [width - x, y],
      [width - x, height - y],
      [x, height - y],
    ];
    setBurnedPhoto({ bitmap: await createImageBitmap(canvas), rgba, corners, found: false });
  } catch (error) {
    comparing.tell({ fault: `The photograph ${(error as Error).message}` });
    return;
  }
  await findSlab(null);
}

/** Lays the corners where the photograph shows the slab; `near`: from where they lie, otherwise all over the photograph. */
export async function findSlab(near: 'near' | null): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhotoStore.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { width: bitmap.width, height: bitmap.height, rgba };
  const asks = { piece, photoKey: photo.key, burned, near: near && corners };
  setBurnedPhoto({ misfit: null });
  await comparing.run('Looking for the slab', async (how) => {
    const slab = await ask('burned-corners', asks, how);
    if (!slab) throw new Error('The slab was not recognised in this photograph: drag its four corners into place.');
    setBurnedPhoto({ corners: slab.corners, found: true });
  });
}

/** Compares the photograph with the proof and corrects the piece by it: one step of undo. */
export async function readBurnedPhoto(): Promise<void> {
  const { bitmap, rgba, corners } = useBurnedPhotoStore.getState();
  const { piece, photo } = usePieceStore.getState();
  if (!bitmap || !rgba || !photo) return;
  const burned = { photo: { width: bitmap.width, height: bitmap.height, rgba }, corners };
  const asks = { piece, photoKey: photo.key, burned };
  setBurnedPhoto({ misfit: null });
  await comparing.run('Comparing', async (how) => {
    const reading = await ask('burned-reading', asks, how);
    if (usePieceStore.getState().piece !== piece) {
      throw new Error('The piece has changed meanwhile: read the photograph again.');
    }
    if (!reading.agrees) {
      setBurnedPhoto({ misfit: { columns: reading.columns, seenL: reading.seenL, modelL: reading.modelL } });
      throw new Error(
        `Nothing that these coats, this machine and these passes are likely to give looks like that: the nearest is off by ${reading.missAfter.toFixed(1)} L* on average. Check the corners, the light and the settings; nothing was changed.`,
      );
    }
    usePieceStore.getState().change(() => reading.piece);
    setBurnedPhoto({ open: false });
    comparing.tell({
      said: `The photograph was compared at ${reading.tiles.toLocaleString()} places. The model was off by ${reading.missBefore.toFixed(1)} L*, now by ${reading.missAfter.toFixed(1)}; the proof shows the piece as it came out. Undo takes it back.`,
    });
  });
}

export function closeBurnedPhoto(): void {
  comparing.stop();
  comparing.tell({ fault: null });
  setBurnedPhoto({ open: false });
}

/** A photograph of the burned piece that is being laid over the proof; never saved. */
interface BurnedPhotoState {
  readonly open: boolean;
  readonly bitmap: ImageBitmap | null;
  /** RGBA8, sRGB, of the same size. */
  readonly rgba: Uint8ClampedArray | null;
  /** Where the corners of the box round the slab lie, pixels: left top, then clockwise. */
  readonly corners: readonly Point[];
  /** Whether the corners lie where the slab was found, and are not moved since. */
  readonly found: boolean;
  /** A photograph that no model comes near to, and the nearest model: L* per tile. */
  readonly misfit: { readonly columns: number; readonly seenL: Float32Array; readonly modelL: Float32Array } | null;
}

export const useBurnedPhotoStore = create<BurnedPhotoState>()(() => ({
  open: false,
  bitmap: null,
  rgba: null,
  corners: [],
  found: false,
  misfit: null,
}));

export const setBurnedPhoto = useBurnedPhotoStore.setState;
