import type { Dice } from './dice.ts';

/** Something that comes in from outside. */
export interface Case {
  readonly bytes: Uint8Array;
  /** It is not what was written, so it must not be taken. */
  readonly mustRefuse?: boolean;
}

export interface Format {
  /** Makes what is to be read: right, slightly wrong, or hostile. */
  readonly make: (dice: Dice) => Case | Promise<Case>;
  /** Reads it as the product does. What is taken is told as text, and again once it was written and read anew. */
  readonly take: (bytes: Uint8Array) => Taken | Promise<Taken>;
}

export interface Taken {
  readonly told: string;
  readonly again?: () => string;
  /** Messages that stand beside what was taken. */
  readonly messages?: readonly string[];
}

export const textBytes = (text: string): Uint8Array => new TextEncoder().encode(text);
export const bytesText = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);
