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

/** Put before the proof worker's program: its clock goes so slowly that what draws in software passes for a quick graphics card. */
export const slowClock = (program: string): string => `
{
  const now = performance.now.bind(performance);
  performance.now = () => now() / 1000;
}
${program}`;

/** Put before a program of the pool: strips of pictures take so long that a card wins every trial, by that clock too. Test patches do not. */
export const lateStrips = (program: string): string => `
{
  self.addEventListener('message', ({ data }) => {
    const until = performance.now() + (data?.name === 'swath' && !data.asks.task.patches ? 500 : 0);
    while (performance.now() < until);
  });
}
${program}`;

/** Put before a program of the pool: strips of pictures wait until the page says `let go`, so that a proof stays under way. Test patches and the bare slab do not. */
export const heldStrips = (program: string): string => `
{
  let held = [];
  const orders = new BroadcastChannel('${FAULTS}');
  orders.onmessage = ({ data }) => {
    if (data !== 'let go') return;
    const waiting = held ?? [];
    held = null;
    for (const { data, ports } of waiting) self.dispatchEvent(new MessageEvent('message', { data, ports }));
  };
  self.addEventListener('message', (event) => {
    const task = event.data?.name === 'swath' && event.data.asks.task;
    if (!held || !task || task.patches || task.windows.length === 0) return;
    held.push(event);
    event.stopImmediatePropagation();
  });
}
${program}`;

/** Put before the proof worker's program: it sees no graphics card. */
export const noCard = (program: string): string => `
Object.defineProperty(navigator, 'gpu', { value: undefined });
${program}`;

/** Put before the proof worker's program: told so, its graphics card reads back zeros from then on, and says nothing of it. */
export const numbCard = (program: string): string => `
{
  const orders = new BroadcastChannel('${FAULTS}');
  orders.onmessage = ({ data }) => {
    if (data === 'numb card') GPUBuffer.prototype.getMappedRange = function () { return new ArrayBuffer(this.size); };
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
