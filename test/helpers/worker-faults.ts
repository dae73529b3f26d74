import sharp from 'sharp';
import { createPiece } from '../../src/piece/defaults.ts';
import { encodePieceFile } from '../../src/piece/file.ts';

/** Where the faults below are called up from a page. */
export const FAULTS = 'test-faults';

/** Put before a worker's own program: it ends as a browser ends it, or throws out of nowhere, when the page is told to say so. */
export const mortal = (worker: string, program: string): string => `
{
  const orders = new BroadcastChannel('${FAULTS}');
  orders.onmessage = ({ data }) => {
    if (data === 'close ${worker}') self.close();
    if (data === 'throw ${worker}') setTimeout(() => { throw new Error('out of nowhere'); });
  };
}
${program}`;

/**
 * Put before the proof worker's program: software passes for a graphics card, and from its n-th reading on the card gives zeros, as one
 * does that has gone. `says`: whether the context admits it at once.
 */
export const failingCard = (reading: number, says: boolean, program: string): string => `
{
  const context = WebGL2RenderingContext.prototype;
  const { getParameter, readPixels } = context;
  context.getParameter = function (name) {
    return name === 0x9246 ? 'A card made up for a test' : getParameter.call(this, name);
  };
  let readings = 0;
  const lost = new WeakSet();
  context.readPixels = function (...args) {
    readings++;
    if (readings === ${reading}) {
      lost.add(this);
      if (${says}) this.getExtension('WEBGL_lose_context')?.loseContext();
    }
    if (!lost.has(this)) readPixels.apply(this, args);
  };
}
${program}`;

/** A piece 30 mm wide, half light and half dark: a proof of it takes a moment only. */
export async function tinyPiece(name: string, widthMm = 30): Promise<Buffer> {
  const photo = await sharp({ create: { width: 120, height: 90, channels: 3, background: '#f0f0f0' } })
    .composite([{ input: { create: { width: 60, height: 90, channels: 3, background: '#101010' } }, left: 0, top: 0 }])
    .jpeg()
    .toBuffer();
  const piece = createPiece(name, 'tiny.jpg');
  const small = {
    ...piece,
    slab: {
      ...piece.slab,
      shape: 'rectangle' as const,
      widthMm: widthMm + 20,
      heightMm: widthMm + 10,
      knots: [],
      checks: [],
    },
    picture: { ...piece.picture, widthMm },
  };
  return Buffer.from(encodePieceFile({ piece: small, images: new Map([['tiny.jpg', new Uint8Array(photo)]]) }));
}
