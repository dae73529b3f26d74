import { askOnce } from '../../base/remote/remote.ts';
import { openWorker } from '../remote/worker-port.ts';
import type { ShrinkQuestions } from './shrink-photo-worker.ts';

const shrinkWorker = openWorker(
  () => new Worker(new URL('./shrink-photo-worker.ts', import.meta.url), { type: 'module' }),
  'reads pictures',
);

/**
 * Decodes a photograph and makes it smaller, in a worker of its own that ends with it; null if it cannot be decoded.
 * @throws RemoteLost.
 */
export const shrinkPhoto = (file: Blob, options: ImageBitmapOptions): Promise<ImageBitmap | null> =>
  askOnce<ShrinkQuestions, 'shrink'>(shrinkWorker, 'shrink', { file, options });
