import { encode } from 'uqr';

/** A text as a QR code (ISO/IEC 18004), one square a module with the quiet zone round it: SVG text. */
export function codeDrawing(text: string): string {
  const { data, size } = encode(text, { ecc: 'M', border: 4 });
  const squares = data.flatMap((row, y) => row.flatMap((dark, x) => (dark ? [`M${x} ${y}h1v1h-1z`] : [])));
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" role="img" shape-rendering="crispEdges"><rect width="${size}" height="${size}" fill="#ffffff"/><path d="${squares.join('')}" fill="#2a2622"/></svg>`;
}

/** Crockford's digits: no I, L, O or U to mistake. */
const DIGITS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';

const CODE_LENGTH = 8;

/**
 * A short code for a piece, the same for the same text: eight digits like `7KQ2-M0XB`. FNV-1a in 64 bits (Fowler, Noll, Vo), of which 40
 * are kept: of ten thousand pieces two share one with a chance of 1 in 20 000.
 */
export function pieceCode(text: string): string {
  let hash = 0xcbf29ce484222325n;
  for (const byte of new TextEncoder().encode(text)) {
    hash = BigInt.asUintN(64, (hash ^ BigInt(byte)) * 0x100000001b3n);
  }
  let folded = (hash ^ (hash >> 24n)) & 0xffffffffffn;
  let code = '';
  for (let i = 0; i < CODE_LENGTH; i++) {
    code = DIGITS[Number(folded & 31n)] + code;
    folded >>= 5n;
  }
  return `${code.slice(0, 4)}-${code.slice(4)}`;
}

/** A code as typed by hand, in its own form; null if it cannot be one. */
export function readPieceCode(typed: string): string | null {
  const digits = typed.toUpperCase().replace(/[\s-]/g, '').replace(/O/g, '0').replace(/[IL]/g, '1');
  const valid = digits.length === CODE_LENGTH && [...digits].every((digit) => DIGITS.includes(digit));
  return valid ? `${digits.slice(0, 4)}-${digits.slice(4)}` : null;
}
