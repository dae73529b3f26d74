/** Pixels per mm across and down that a PNG's chunk pHYs states, or null if it states none in metres. */
export function readPngResolution(png: Uint8Array): { x: number; y: number } | null {
  const bytes = Buffer.from(png);
  const at = bytes.indexOf('pHYs') + 4;
  if (at < 4 || bytes.readUInt32BE(at - 8) !== 9 || bytes[at + 8] !== 1) return null;
  return { x: bytes.readUInt32BE(at) / 1000, y: bytes.readUInt32BE(at + 4) / 1000 };
}
