import { truncated } from './picture-error.ts';

/** Reads numbers and text at offsets of a file; what lies beyond its end throws a PictureError ('truncated'). */
export interface ByteReader {
  readonly bytes: Uint8Array;
  uint8(offset: number): number;
  uint16(offset: number, littleEndian?: boolean): number;
  uint32(offset: number, littleEndian?: boolean): number;
  /** So many bytes as text, a character each. */
  text(offset: number, length: number): string;
  /** Makes sure that the file is at least so long. */
  mustReach(end: number): void;
}

export function createByteReader(bytes: Uint8Array): ByteReader {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const need = (offset: number, length: number): number => {
    if (offset + length > bytes.length) throw truncated();
    return offset;
  };
  return {
    bytes,
    uint8: (offset) => view.getUint8(need(offset, 1)),
    uint16: (offset, littleEndian = false) => view.getUint16(need(offset, 2), littleEndian),
    uint32: (offset, littleEndian = false) => view.getUint32(need(offset, 4), littleEndian),
    text: (offset, length) => String.fromCharCode(...bytes.subarray(need(offset, length), offset + length)),
    mustReach: (end) => void need(end, 0),
  };
}
