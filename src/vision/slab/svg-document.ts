import { OutlineError } from '../../base/geometry/outline-error.ts';
import { inMiB, LIMITS } from '../../base/limits.ts';
import { tagsOf } from './markup.ts';
import { chained, parseTransform, type SvgMatrix, UNCHANGED } from './svg-matrix.ts';

/** Lengths of SVG in mm (CSS Values 3, 5.2): a pixel is 1/96 inch. */
const UNIT_MM: Readonly<Record<string, number>> = {
  mm: 1,
  cm: 10,
  q: 0.25,
  in: 25.4,
  pt: 25.4 / 72,
  pc: 25.4 / 6,
  px: 25.4 / 96,
  '': 25.4 / 96,
};

/** A path of a document with the way from its units to mm. */
export interface SvgPathElement {
  readonly d: string;
  readonly toMm: SvgMatrix;
}

/** Elements whose content is not drawn where it stands. */
const HIDDEN = new Set([
  'defs',
  'clipPath',
  'mask',
  'symbol',
  'marker',
  'pattern',
  'metadata',
  'title',
  'desc',
  'style',
]);

/**
 * Finds the paths of an SVG document, their transformations and the size of its unit: from width, height and viewBox of the outermost
 * `svg` (SVG 1.1, 7.8: fitted into the size without distortion), else 1/96 inch. Works on the text; no document model is needed.
 * @throws OutlineError if the text is not an SVG document or a size cannot be read.
 */
export function readSvgDocument(text: string): { readonly paths: SvgPathElement[]; readonly notes: string[] } {
  if (text.length > LIMITS.drawingBytes) {
    throw new OutlineError(`the document is larger than ${inMiB(LIMITS.drawingBytes)}`);
  }
  const paths: SvgPathElement[] = [];
  const notes: string[] = [];
  const open: { matrix: SvgMatrix; hidden: boolean }[] = [];
  let seen = false;
  for (const { name, closing, empty, attributes } of tagsOf(text)) {
    if (closing) {
      open.pop();
      continue;
    }
    const outer = open[open.length - 1];
    let matrix = outer?.matrix ?? UNCHANGED;
    if (!seen) {
      if (name !== 'svg') break;
      seen = true;
      matrix = unitMatrix(attributes, notes);
    } else if (attributes.has('transform')) {
      matrix = chained(matrix, parseTransform(attributes.get('transform') ?? ''));
    }
    const hidden = (outer?.hidden ?? false) || HIDDEN.has(name);
    const d = attributes.get('d');
    if (name === 'path' && d !== undefined && !hidden) paths.push({ d, toMm: matrix });
    if (!empty) open.push({ matrix, hidden });
  }
  if (!seen) throw new OutlineError('the text is not an SVG document');
  return { paths, notes };
}

function unitMatrix(attributes: ReadonlyMap<string, string>, notes: string[]): SvgMatrix {
  const width = lengthMm(attributes.get('width'));
  const height = lengthMm(attributes.get('height'));
  const box = (attributes.get('viewBox') ?? '')
    .trim()
    .split(/[\s,]+/)
    .map(Number);
  if (box.length === 4 && box.every(Number.isFinite) && box[2] > 0 && box[3] > 0 && (width ?? height) !== null) {
    const across = width === null ? Number.POSITIVE_INFINITY : width / box[2];
    const down = height === null ? Number.POSITIVE_INFINITY : height / box[3];
    const unit = Math.min(across, down);
    if (attributes.get('preserveAspectRatio')?.trim().startsWith('none') && width !== null && height !== null) {
      return [across, 0, 0, down, -across * box[0], -down * box[1]];
    }
    return [unit, 0, 0, unit, -unit * box[0], -unit * box[1]];
  }
  if ((width ?? height) === null) {
    notes.push('The document does not say how large it is; its unit is taken as 1/96 inch. Check the size.');
  }
  return [UNIT_MM.px, 0, 0, UNIT_MM.px, 0, 0];
}

/** Null for none or a percentage. */
function lengthMm(text: string | undefined): number | null {
  if (text === undefined || text.trim().endsWith('%') || text.trim() === 'auto') return null;
  const match = /^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*)\s*$/.exec(text);
  const unit = match ? UNIT_MM[match[2].toLowerCase()] : undefined;
  if (!match || unit === undefined) throw new OutlineError(`the size “${text}” of the document cannot be read`);
  const value = Number(match[1]) * unit;
  if (!(value > 0)) throw new OutlineError('the document has a size of zero');
  return value;
}
