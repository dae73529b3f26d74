import { encode } from 'fast-png';
import { decodeTiff } from '../../image/decode/tiff.ts';
import { serveQuestions } from '../remote/serve.ts';

export interface TiffQuestions {
  /** A TIFF's very pixels, in sRGB and upright, as a PNG. */
  readonly png: {
    readonly asks: { readonly bytes: Uint8Array };
    readonly gets: Uint8Array;
  };
}

serveQuestions<TiffQuestions>({
  png({ bytes }) {
    const { width, height, channels, data } = decodeTiff(bytes);
    const deep = data instanceof Uint16Array;
    const plain = deep ? data : new Uint8Array(data.buffer, data.byteOffset, data.byteLength);
    const png = encode({ width, height, channels, depth: deep ? 16 : 8, data: plain });
    return { gets: png, transfer: [png.buffer] };
  },
});
