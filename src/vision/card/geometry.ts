import type { Card, CardBox } from './card.ts';
import { CARD_KINDS } from './card.ts';

/** Everything a card has at fixed places. Whole millimetres, because a pass burns where tiles of a millimetre say. */
export const EDGE_MM = 2;
/** A corner mark: a light square ring round a light square; sides of the ring, its dark inside and the inner square, mm. */
export const MARK_MM = 6;
export const MARK_INSIDE_MM = 3.6;
export const MARK_MIDDLE_MM = 2;
/** Squares of the code between the upper marks: 3 for the kind, 16 for the id, 5 to check. */
export const CODE_BITS = 24;
export const CODE_SQUARE_MM = 1.6;
/** Where patches and lines may lie: below the upper marks and above the lower ones. */
export const INNER_TOP_MM = EDGE_MM + MARK_MM + 2;
export const SMALLEST_CARD_MM = { width: 58, height: 36 };

/** Middles of the corner marks, clockwise from the left top, mm. */
export const markCentres = ({ widthMm, heightMm }: Pick<Card, 'widthMm' | 'heightMm'>): [number, number][] => {
  const inset = EDGE_MM + MARK_MM / 2;
  return [
    [inset, inset],
    [widthMm - inset, inset],
    [widthMm - inset, heightMm - inset],
    [inset, heightMm - inset],
  ];
};

/** Where square `bit` of the code lies. */
export function codeBox({ widthMm }: Pick<Card, 'widthMm'>, bit: number): CardBox {
  const left = (widthMm - CODE_BITS * CODE_SQUARE_MM) / 2;
  const size = CODE_SQUARE_MM;
  return { xMm: left + bit * size, yMm: EDGE_MM + (MARK_MM - size) / 2, widthMm: size, heightMm: size };
}

/** The bits of a card's code: kind, id and a sum that tells misreading. The ends differ, so that a card upside down is no card. */
export function codeBits(kind: Card['kind'], id: number): boolean[] {
  const value = CARD_KINDS.indexOf(kind) * 65536 + id;
  const bits = Array.from({ length: 19 }, (_, i) => ((value >> i) & 1) === 1);
  const check = checkOf(value);
  for (let i = 0; i < 5; i++) bits.push(((check >> i) & 1) === 1);
  return bits;
}

/** What a code says; null if its sum is wrong. */
export function readCode(bits: readonly boolean[]): { kind: Card['kind']; id: number } | null {
  let value = 0;
  for (let i = 0; i < 19; i++) if (bits[i]) value |= 1 << i;
  let check = 0;
  for (let i = 0; i < 5; i++) if (bits[19 + i]) check |= 1 << i;
  const kind = CARD_KINDS[value >> 16];
  return kind && check === checkOf(value) ? { kind, id: value & 65535 } : null;
}

/** Remainder by a prime below 32, moved on so that an empty code is none. */
const checkOf = (value: number): number => ((value % 29) + 2) % 32;

/** A number of 16 bits from text (FNV-1a, folded): what makes a card another card. */
export function hash16(text: string): number {
  let hash = 0x811c9dc5;
  for (let i = 0; i < text.length; i++) hash = Math.imul(hash ^ text.charCodeAt(i), 0x01000193) >>> 0;
  return (hash ^ (hash >>> 16)) & 65535;
}
