import { encodeSrgbByte } from '../../../base/color/srgb.ts';
import { linearise } from '../../../image/linearise.ts';
import { healPicture } from '../../../image/mask/heal.ts';
import { serveQuestions } from '../../remote/serve.ts';
import { backgroundStrokes } from './background-strokes.ts';
import { maskSaving } from './mask-saving.ts';
import type { MaskQuestions } from './messages.ts';

serveQuestions<MaskQuestions>({
  background: (asks) => ({ gets: backgroundStrokes(asks) }),
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
