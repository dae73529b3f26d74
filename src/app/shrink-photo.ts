import type { ShrinkAnswer, ShrinkQuestion } from './worker/shrink-photo-worker.ts';

/** Decodes a photograph and makes it smaller, in a worker of its own that ends with it; null if it cannot be decoded. */
export function shrinkPhoto(file: Blob, options: ImageBitmapOptions): Promise<ShrinkAnswer> {
  const worker = new Worker(new URL('./worker/shrink-photo-worker.ts', import.meta.url), { type: 'module' });
  return new Promise<ShrinkAnswer>((resolve) => {
    worker.onmessage = ({ data }: MessageEvent<ShrinkAnswer>) => resolve(data);
    worker.onerror = () => resolve(null);
    worker.postMessage({ file, options } satisfies ShrinkQuestion);
  }).finally(() => worker.terminate());
}
