import { type Font, type Glyph, type PathCommand, parse } from 'opentype.js';
import { LETTER_UNITS, type LetterFont, type Lettering } from '../../piece/schema.ts';
import { fontPart } from './fonts.ts';

type Letters = Extract<Lettering, { kind: 'text' }>['letters'];

interface OutlinedText {
  readonly letters: Letters;
  /** Height of the font's capitals over its em. */
  readonly capEm: number;
}

/** How far straight edges may lie off the curves they stand for, units. */
const OFF = 0.8;

/** Height of capitals over the em where a font does not say. */
const USUAL_CAP = 0.7;

const opened = new Map<string, Promise<Font | null>>();

/** A part of a font, read once; null beyond the last. One that could not be loaded is asked for again. */
function openPart(font: LetterFont, part: number): Promise<Font | null> {
  const key = `${font} ${part}`;
  const known = opened.get(key);
  if (known) return known;
  const reading = fontPart(font, part).then((file) => file && parse(file));
  opened.set(key, reading);
  reading.catch(() => opened.delete(key));
  return reading;
}

/** As many parts of a font as letters are found in. */
async function partsFor(chars: readonly string[], font: LetterFont): Promise<Font[]> {
  const parts: Font[] = [];
  for (let part = 0; ; part++) {
    const next = await openPart(font, part);
    if (next) parts.push(next);
    if (!next || chars.every((char) => parts.some((one) => one.charToGlyphIndex(char) > 0))) return parts;
  }
}

/**
 * The outlines of a line of text as a piece keeps them, kerning in the letters' advances. A font comes in parts by ranges of Unicode; each
 * letter is taken from the first that has it.
 * Test: test/unit/lettering.test.ts.
 * @throws RangeError with a sentence for signs that the font does not have.
 */
export async function outlineText(text: string, font: LetterFont): Promise<OutlinedText> {
  const chars = [...text.normalize('NFC')];
  const fonts = await partsFor(chars, font);
  const [first] = fonts;
  const missing = new Set<string>();
  const found = chars.flatMap((char): { glyph: Glyph; of: Font }[] => {
    const of = fonts.find((one) => one.charToGlyphIndex(char) > 0);
    if (!of) missing.add(char);
    return of ? [{ glyph: of.charToGlyph(char), of }] : [];
  });
  if (missing.size > 0) {
    throw new RangeError(
      `this font has no ${[...missing].map((char) => `“${char}”`).join(', ')}: choose another font or word`,
    );
  }
  const letters = found.map(({ glyph, of }, i) => {
    const next = found[i + 1];
    const kerning = next?.of === of ? of.getKerningValue(glyph, next.glyph) : 0;
    const scale = LETTER_UNITS / of.unitsPerEm;
    return {
      advance: Math.round((glyph.advanceWidth + kerning) * scale),
      outlines: outlinesOf(glyph.path.commands, scale),
    };
  });
  return { letters, capEm: (first.tables.os2?.sCapHeight ?? 0) / first.unitsPerEm || USUAL_CAP };
}

/** Closed outlines of straight edges, x and y in turn, y upwards. */
function outlinesOf(commands: readonly PathCommand[], scale: number): number[][] {
  const outlines: number[][] = [];
  let line: number[] = [];
  let [x, y] = [0, 0];
  const put = (px: number, py: number) => {
    const [u, v] = [Math.round(px), Math.round(py)];
    if (line.length === 0 || u !== line[line.length - 2] || v !== line[line.length - 1]) line.push(u, v);
  };
  const close = () => {
    // The end is the beginning again.
    if (line.length > 2 && line[0] === line[line.length - 2] && line[1] === line[line.length - 1]) line.length -= 2;
    if (line.length >= 6) outlines.push(line);
    line = [];
  };
  for (const command of commands) {
    const { type } = command;
    const [toX, toY] = [command.x * scale, command.y * scale];
    if (type === 'Z') {
      close();
      continue;
    }
    if (type === 'M') {
      close();
      put(toX, toY);
    } else if (type === 'L') put(toX, toY);
    else {
      const [ax, ay] = [command.x1 * scale, command.y1 * scale];
      const [bx, by] = type === 'C' ? [command.x2 * scale, command.y2 * scale] : [ax, ay];
      const bent = Math.max(
        Math.hypot(x - 2 * ax + bx, y - 2 * ay + by),
        Math.hypot(ax - 2 * bx + toX, ay - 2 * by + toY),
      );
      // A chord of 1/n of a cubic lies off by at most 3/4 of its bend over n².
      const steps = Math.max(1, Math.ceil(Math.sqrt((0.75 * bent) / OFF)));
      for (let k = 1; k <= steps; k++) {
        const t = k / steps;
        const s = 1 - t;
        if (type === 'C') {
          put(
            s * s * s * x + 3 * s * s * t * ax + 3 * s * t * t * bx + t * t * t * toX,
            s * s * s * y + 3 * s * s * t * ay + 3 * s * t * t * by + t * t * t * toY,
          );
        } else put(s * s * x + 2 * s * t * ax + t * t * toX, s * s * y + 2 * s * t * ay + t * t * toY);
      }
    }
    [x, y] = [toX, toY];
  }
  close();
  return outlines;
}
