import { encode } from 'uqr';

/** A text as a QR code (ISO/IEC 18004), one square a module with the quiet zone round it: SVG text. */
export function codeDrawing(text: string): string {
  const { data, size } = encode(text, { ecc: 'M', border: 4 });
  const squares = data.flatMap((row, y) => row.flatMap((dark, x) => (dark ? [`M${x} ${y}h1v1h-1z`] : [])));
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${size} ${size}" role="img" shape-rendering="crispEdges"><rect width="${size}" height="${size}" fill="#ffffff"/><path d="${squares.join('')}" fill="#2a2622"/></svg>`;
}
