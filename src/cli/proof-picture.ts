import sharp from 'sharp';
import { createProofPipeline, type Proof } from '../burn/proof.ts';
import { picturePx } from '../outputs/paper/paper.ts';
import { type CliIo, createProgress } from './io.ts';
import type { OpenedJob } from './open-job.ts';
import { createCliRunner } from './runner.ts';

/** A proof with its picture as a JPEG data URL, as large as paper needs it for so many mm. */
export async function proofPicture(
  { piece, photo }: Pick<OpenedJob, 'piece' | 'photo'>,
  io: CliIo,
  widthMm: number,
): Promise<{ proof: Proof; url: string }> {
  const progress = createProgress(io);
  const runner = createCliRunner();
  try {
    let rgb = new Uint8Array(0);
    let size = { width: 0, height: 0 };
    const proof = await createProofPipeline({ once: true }).proof(
      { piece, photo, collect: { surface: true, fields: false, painted: false } },
      runner,
      {
        onProgress: progress.show,
        onGrid: ({ width, height }) => {
          size = { width, height };
          rgb = new Uint8Array(3 * width * height);
        },
        onSwath: ({ y0, color }) => {
          if (!color) return;
          // The fourth channel marks uncleared places and is no transparency.
          for (let i = 0, at = 3 * y0 * size.width; i < color.length; i += 4, at += 3) {
            rgb.set(color.subarray(i, i + 3), at);
          }
        },
      },
    );
    const longest = picturePx(widthMm);
    const jpeg = await sharp(rgb, { raw: { ...size, channels: 3 } })
      .resize({ width: longest, height: longest, fit: 'inside', withoutEnlargement: true })
      .jpeg({ quality: 86 })
      .toBuffer();
    return { proof, url: `data:image/jpeg;base64,${jpeg.toString('base64')}` };
  } finally {
    progress.clear();
    runner.dispose();
  }
}
