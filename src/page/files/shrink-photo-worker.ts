import { serveQuestions } from '../remote/serve.ts';

export interface ShrinkQuestions {
  /** Null if the browser cannot decode it. */
  readonly shrink: {
    readonly asks: { readonly file: Blob; readonly options: ImageBitmapOptions };
    readonly gets: ImageBitmap | null;
  };
}

// Browsers decode off the page's thread, but make the picture smaller on the one that asks: some 70 ms for 24 megapixels.
serveQuestions<ShrinkQuestions>({
  async shrink({ file, options }) {
    const bitmap = await createImageBitmap(file, options).catch(() => null);
    return { gets: bitmap, transfer: bitmap ? [bitmap] : [] };
  },
});
