import type { BedBox } from './travel-box.ts';

/** What a program is to hold, in its own positions, mm, and in its own words for power. */
export interface ProgramPromise {
  /** Where the head may go at all, and where light may fall; null for a program without light. */
  readonly travel: BedBox;
  readonly light: BedBox | null;
  /** Word that allows the beam. */
  readonly beam: 'M3' | 'M4';
  /** Highest S. */
  readonly mostS: number;
  readonly feedMmPerS: number;
  /** Positions are rounded to so much, mm. */
  readonly stepMm: number;
  /** True where the head may turn on the way at feed, as a lap does; else it stops there, and must stop dark. */
  readonly turns: boolean;
  /** True where the head stands at 0, 0 when the program starts. */
  readonly fromZero: boolean;
  /** What rows there are; null for a program that is no pass. */
  readonly rows: RowsPromise | null;
}

export interface RowsPromise {
  readonly count: number;
  /** Direction in which rows follow each other, of length 1, and their distance, mm. */
  readonly across: readonly [number, number];
  readonly pitchMm: number;
  /** From the first row to the last, s, with what the machine can do. */
  readonly timeS: number;
  readonly maxFeedMmPerS: number;
  readonly accelerationMmPerS2: number;
}
