import type { Maker } from '../../base/maker.ts';

/** A page or two to print: what the bench sheet and the quote are made of before they become HTML or PDF. */
export interface Paper {
  readonly title: string;
  readonly subtitle: string;
  /** BCP 47 language tag. */
  readonly language: string;
  readonly blocks: readonly Block[];
  readonly foot: string;
  /** Stands opposite the title. */
  readonly maker: Maker;
}

export type Block =
  | { readonly kind: 'heading'; readonly text: string }
  | { readonly kind: 'text'; readonly text: string; readonly tone?: 'plain' | 'quiet' | 'warning' }
  /** What is what, in two columns of label and value. */
  | { readonly kind: 'facts'; readonly facts: readonly (readonly [string, string])[] }
  | {
      readonly kind: 'table';
      readonly head: readonly string[];
      readonly rows: readonly (readonly string[])[];
      /** Columns of numbers are set to the right. */
      readonly numeric?: readonly boolean[];
      /** Rows that are sums. */
      readonly strong?: readonly number[];
    }
  | { readonly kind: 'steps'; readonly steps: readonly string[] }
  /** To be ticked off. */
  | { readonly kind: 'ticks'; readonly items: readonly string[] }
  | { readonly kind: 'bullets'; readonly items: readonly string[] }
  | {
      readonly kind: 'picture';
      readonly url: string;
      /** At most so wide and so high. */
      readonly widthMm: number;
      readonly heightMm: number;
      readonly caption: string;
    }
  /** A drawing as SVG text made by this program. */
  | { readonly kind: 'drawing'; readonly svg: string; readonly widthMm: number; readonly caption: string }
  /** Empty lines to write on. */
  | { readonly kind: 'lines'; readonly label: string; readonly count: number }
  | { readonly kind: 'columns'; readonly columns: readonly (readonly Block[])[] }
  | { readonly kind: 'page-break' };

/** Keeps a number and its percent sign on one line, as typography has it (Unicode, UAX #14: U+00A0 does not break). */
export const keepTogether = (text: string): string => text.replace(/(\d) %/g, '$1\u00a0%');

/** Width of the proof on each paper, mm, and its height at most: a tall one leaves the rest of the page its room. */
export const PROOF_MM = { sheet: 85, quote: 180 } as const;

export const PROOF_HEIGHT_MM = { sheet: 60, quote: 112 } as const;

/** Longest side of a picture of so many mm, pixels: 300 an inch, as much as print shows; a large one is seen from farther away. */
export const picturePx = (widthMm: number): number => Math.min(1500, Math.round((widthMm / 25.4) * 300));
