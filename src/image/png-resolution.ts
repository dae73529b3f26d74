import { crc32 } from '../base/crc32.ts';

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
const AFTER_HEADER = 33;
const METRE = 1;

/**
 * A copy of a PNG file that says how large its pixels are: chunk pHYs with the unit metre, straight after the header; one that
 * was there is replaced. The format knows whole pixels per metre only, so a pitch of 0.085 mm becomes 11765 of them.
 * Source: W3C PNG Specification, Third Edition, 11.3.4.3 (11.3.5.3 in the second).
 * @param pxPerMm pixels per mm, > 0.
 * @throws RangeError if the bytes are no PNG or the resolution cannot be written.
 */
export function setPngResolution(png: Uint8Array, pxPerMm: number): Uint8Array<ArrayBuffer> {
  const perMetre = Math.round(pxPerMm * 1000);
  if (!(perMetre >= 1 && perMetre <= 0x7fffffff)) throw new RangeError(`a PNG cannot have ${pxPerMm} pixels per mm`);
  const kept = chunksOf(png).filter((chunk) => chunk.type !== 'pHYs');
  const length = kept.reduce((sum, chunk) => sum + chunk.end - chunk.start, SIGNATURE.length + 21);
  const out = new Uint8Array(length);
  out.set(SIGNATURE);
  let at = SIGNATURE.length;
  for (const { start, end } of kept) {
    out.set(png.subarray(start, end), at);
    at += end - start;
    if (at === AFTER_HEADER) {
      writeResolution(out.subarray(at, at + 21), perMetre);
      at += 21;
    }
  }
  return out;
}

/**
 * Pixels per mm across and down that a PNG file states, or null if it states none in metres.
 * @throws RangeError if the bytes are no PNG.
 */
export function readPngResolution(png: Uint8Array): { x: number; y: number } | null {
  const chunk = chunksOf(png).find(({ type }) => type === 'pHYs');
  if (!chunk || chunk.end - chunk.start !== 21) return null;
  const view = new DataView(png.buffer, png.byteOffset + chunk.start + 8, 9);
  if (view.getUint8(8) !== METRE) return null;
  return { x: view.getUint32(0) / 1000, y: view.getUint32(4) / 1000 };
}

function writeResolution(chunk: Uint8Array, perMetre: number): void {
  const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength);
  view.setUint32(0, 9);
  chunk.set([0x70, 0x48, 0x59, 0x73], 4);
  view.setUint32(8, perMetre);
  view.setUint32(12, perMetre);
  view.setUint8(16, METRE);
  view.setUint32(17, crc32(chunk.subarray(4, 17)));
}

/** Types and places (length field to checksum) of all chunks. */
function chunksOf(png: Uint8Array): { type: string; start: number; end: number }[] {
  if (png.length < AFTER_HEADER || SIGNATURE.some((byte, i) => png[i] !== byte))
    throw new RangeError('these bytes are no PNG');
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  const chunks: { type: string; start: number; end: number }[] = [];
  for (let start = SIGNATURE.length; start < png.length; ) {
    const end = start + 12 <= png.length ? start + 12 + view.getUint32(start) : Number.POSITIVE_INFINITY;
    if (end > png.length) throw new RangeError('this PNG is cut off');
    chunks.push({ type: String.fromCharCode(...png.subarray(start + 4, start + 8)), start, end });
    start = end;
  }
  if (chunks[0].end !== AFTER_HEADER) throw new RangeError('this PNG has no header');
  return chunks;
}
