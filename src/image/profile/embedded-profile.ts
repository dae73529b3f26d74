import { unzlibSync } from 'fflate';
import type { PictureInfo } from '../picture-info.ts';

/** Profiles are some kilobytes, those with tables a megabyte or two. */
const MOST_BYTES = 8 << 20;

/**
 * The ICC profile that a PNG, JPEG or WebP carries, unpacked; null if it has none or one that is in pieces. The file must have been
 * looked over by `inspectPicture`.
 * Source: W3C PNG Third Edition 11.3.2.3 (iCCP); ICC.1:2010 B.4 (JPEG); WebP container specification (ICCP).
 */
export function embeddedProfile(bytes: Uint8Array, { format }: PictureInfo): Uint8Array | null {
  if (format === 'png') return fromPng(bytes);
  if (format === 'jpeg') return fromJpeg(bytes);
  return format === 'webp' ? fromWebp(bytes) : null;
}

const viewOf = (bytes: Uint8Array) => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
const textAt = (bytes: Uint8Array, at: number, length: number): string =>
  String.fromCharCode(...bytes.subarray(at, at + length));

function fromPng(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  for (let at = 8; at + 12 <= bytes.length; at += 12 + view.getUint32(at)) {
    const type = textAt(bytes, at + 4, 4);
    if (type === 'IDAT') return null;
    if (type !== 'iCCP') continue;
    const data = bytes.subarray(at + 8, at + 8 + view.getUint32(at));
    const nameEnd = data.indexOf(0);
    try {
      // A buffer of its own size: what would unpack to more is cut, and then is no profile.
      const profile = unzlibSync(data.subarray(nameEnd + 2), { out: new Uint8Array(MOST_BYTES) });
      return profile.slice();
    } catch {
      return null;
    }
  }
  return null;
}

function fromJpeg(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  const parts: Uint8Array[] = [];
  let wanted = 0;
  for (let at = 2; at + 4 <= bytes.length && bytes[at] === 0xff; ) {
    if (bytes[at + 1] === 0xff) {
      at++;
      continue;
    }
    if (bytes[at + 1] === 0xda) break;
    const length = view.getUint16(at + 2);
    if (bytes[at + 1] === 0xe2 && length > 16 && textAt(bytes, at + 4, 11) === 'ICC_PROFILE') {
      parts[bytes[at + 16] - 1] = bytes.subarray(at + 18, at + 2 + length);
      wanted = bytes[at + 17];
    }
    at += 2 + length;
  }
  if (wanted === 0 || parts.length !== wanted || parts.includes(undefined as never)) return null;
  const profile = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    profile.set(part, at);
    at += part.length;
  }
  return profile;
}

function fromWebp(bytes: Uint8Array): Uint8Array | null {
  const view = viewOf(bytes);
  for (let at = 12; at + 8 <= bytes.length; ) {
    const length = view.getUint32(at + 4, true);
    if (textAt(bytes, at, 4) === 'ICCP') return bytes.slice(at + 8, at + 8 + length);
    at += 8 + length + (length % 2);
  }
  return null;
}
