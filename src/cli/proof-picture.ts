import sharp from 'sharp';
import { createProofPipeline, type Proof } from '../burn/proof.ts';
import type { SwathResult } from '../burn/swath-task.ts';
import { picturePx } from '../outputs/paper/paper.ts';
import { type CliIo, createProgress } from './io.ts';
import type { OpenedJob } from './open-job.ts';
import { createCliRunner } from './runner.ts';

/** The picture of a proof, put together from its swaths as they come, to be made a JPEG of at the end. */
export function createProofPhoto() {
  let rgb = new Uint8Array(0);
  let size = { width: 0, height: 0 };
  return {
    onGrid({ width, height }: { readonly width: number; readonly height: number }): void {
      size = { width, height };
      rgb = new Uint8Array(3 * width * height);
    },
    onSwath({ y0, color }: Pick<SwathResult, 'y0' | 'color'>): void {
      if (!color) return;
      // The fourth channel marks uncleared places and is no transparency.
      for (let i = 0, at = 3 * y0 * size.width; i < color.length; i += 4, at += 3) {
        rgb.set(color.subarray(i, i + 3), at);
      }
    },
    /** No longer on either side than this. */
    jpeg: (longestPx: number): Promise<Buffer> =>
      sharp(rgb, { raw: { ...size, channels: 3 } })
        .resize({ width: longestPx, height: longestPx, fit: 'inside', withoutEnlargement: true })
        .jpeg({ quality: 86 })
        .toBuffer(),
  };
}

export const jpegUrl = (jpeg: Buffer): string => `data:image/jpeg;base64,${jpeg.toString('base64')}`;

/** A proof with its picture as a JPEG data URL, as large as paper needs it for so many mm. */
export async function proofPicture(
  { piece, photo }: Pick<OpenedJob, 'piece' | 'photo'>,
  io: CliIo,
  widthMm: number,
): Promise<{ proof: Proof; url: string }> {
  const progress = createProgress(io);
  const runner = createCliRunner();
  try {
    const { onGrid, onSwath, jpeg } = createProofPhoto();
    const collect = { surface: true, fields: false, painted: false };
    const hooks = { onProgress: progress.show, onGrid, onSwath };
    const proof = await createProofPipeline({ once: true }).proof({ piece, photo, collect }, runner, hooks);
    return { proof, url: jpegUrl(await jpeg(picturePx(widthMm))) };
  } finally {
    progress.clear();
    runner.dispose();
  }
}
