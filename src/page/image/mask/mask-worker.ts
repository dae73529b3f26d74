import { encodeSrgbByte } from '../../../base/color/srgb.ts';
import { linearise } from '../../../image/linearise.ts';
import { paintStrokes } from '../../../image/mask/brush.ts';
import { healPicture } from '../../../image/mask/heal.ts';
import { findMatte, MARK } from '../../../image/mask/matte.ts';
import { packTiles } from '../../../piece/tiles.ts';
import { labPlanes } from '../../../vision/slab/rectify.ts';
import { serveQuestions } from '../../remote/serve.ts';
import { maskSaving } from './mask-saving.ts';
import type { MaskQuestions } from './messages.ts';

serveQuestions<MaskQuestions>({
  background: async (asks, how) => ({ gets: await backgroundOf(asks, how) }),
  heal: (asks) => ({ gets: healedGrey(asks) }),
  saving: ({ piece, photo }) => ({ gets: maskSaving(piece, photo) }),
});

function healedGrey({ width, height, rgba, heals }: MaskQuestions['heal']['asks']): Uint8ClampedArray {
  const { luminance } = healPicture(linearise({ width, height, channels: 4, data: rgba }), heals);
  const out = new Uint8ClampedArray(4 * luminance.length).fill(255);
  for (let i = 0; i < luminance.length; i++) {
    const grey = encodeSrgbByte(luminance[i]);
    for (let k = 0; k < 3; k++) out[4 * i + k] = grey;
  }
  return out;
}

type Background = MaskQuestions['background'];

async function backgroundOf(
  { width, height, rgba, marks }: Background['asks'],
  how: { readonly signal: AbortSignal; readonly onProgress: (share: number, stage: string) => void },
): Promise<Background['gets']> {
  const marked = new Uint8Array(width * height);
  for (const { stays, points, radius } of marks) {
    // Strokes are drawn as those of the mask are; a thin one still marks a dot.
    const thick = Math.max(radius, 0.8 / width);
    const stroke = { does: 'restore' as const, points, radius: thick, hardness: 1 };
    paintStrokes(new Uint8Array(marked.length), width, height, [stroke]).forEach((value, i) => {
      if (value > 0) marked[i] = stays ? MARK.stays : MARK.goes;
    });
  }
  const picture = { width, height, ...labPlanes({ width, height, rgba }) };
  const values = await findMatte(picture, marked, {
    signal: how.signal,
    onProgress: (share) => how.onProgress(share, 'Looking for the edge'),
  });
  return packTiles(width, height, values);
}
