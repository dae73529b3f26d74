/** Names in a TrueType font (OpenType specification, table "name"): whose it is, and on what terms. */
export interface FontNames {
  readonly copyright: string;
  readonly version: string;
  readonly license: string;
  readonly licenseUrl: string;
}

const COPYRIGHT = 0;
const VERSION = 5;
const LICENSE = 13;
const LICENSE_URL = 14;
const UNICODE_PLATFORMS = [0, 3];

/** @throws Error if the file has no such table. */
export function fontNames(bytes: Uint8Array): FontNames {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const tables = Array.from({ length: view.getUint16(4) }, (_, i) => 12 + 16 * i);
  const entry = tables.find((at) => String.fromCharCode(...bytes.subarray(at, at + 4)) === 'name');
  if (entry === undefined) throw new Error('the font does not say whose it is');
  const table = view.getUint32(entry + 8);
  const texts = table + view.getUint16(table + 4);
  const names = new Map<number, string>();
  for (let i = 0; i < view.getUint16(table + 2); i++) {
    const at = table + 6 + 12 * i;
    if (!UNICODE_PLATFORMS.includes(view.getUint16(at))) continue;
    const start = texts + view.getUint16(at + 10);
    const text = new TextDecoder('utf-16be').decode(bytes.subarray(start, start + view.getUint16(at + 8)));
    names.set(view.getUint16(at + 6), text);
  }
  const of = (id: number) => names.get(id) ?? '';
  return { copyright: of(COPYRIGHT), version: of(VERSION), license: of(LICENSE), licenseUrl: of(LICENSE_URL) };
}
