import type { Point } from '../../base/geometry/point.ts';
import { boundsMm } from '../../base/geometry/polygon.ts';

export interface DrawnPath {
  /** Its `id` in the drawing. */
  readonly id: string;
  /** Closed, mm, y growing downwards. */
  readonly points: readonly Point[];
}

const DECIMALS = 3;

/**
 * Closed lines as an SVG drawing in mm, right to 0.0005 mm: size and user unit are mm, lines are not filled, the first lies at the bottom.
 * Source: W3C, Scalable Vector Graphics 1.1 (Second Edition).
 */
export function drawingToSvg(title: string, paths: readonly DrawnPath[]): string {
  const { left, top, right, bottom } = boundsMm(paths.flatMap(({ points }) => [...points]));
  const number = (mm: number): string => String(Number(mm.toFixed(DECIMALS)));
  const [width, height] = [number(right - left), number(bottom - top)];
  const lines = paths.map(({ id, points }) => {
    const d = points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${number(x)} ${number(y)}`).join('');
    return `  <path id="${id}" d="${d}Z" fill="none" stroke="#000000" stroke-width="0.1"/>`;
  });
  return `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="${width}mm" height="${height}mm" viewBox="${number(left)} ${number(top)} ${width} ${height}">
  <title>${escapeXml(title)}</title>
${lines.join('\n')}
</svg>
`;
}

const ENTITIES: Readonly<Record<string, string>> = { '&': '&amp;', '<': '&lt;', '>': '&gt;' };
/** Text as it may stand between tags; XML knows no control characters. */
const escapeXml = (text: string): string =>
  text.replace(/[&<>]/g, (letter) => ENTITIES[letter]).replace(/[\p{Cc}\ufffe\uffff]/gu, ' ');
