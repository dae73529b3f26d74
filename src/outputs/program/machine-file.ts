import type { Piece } from '../../piece/schema.ts';
import type { BedBox } from './pass-program.ts';

export const PICTURE_FORMS = ['dots-1', 'dots-8', 'grey-16'] as const;

/** Dots of one bit; dots, or graded power, of 8 bits with transparency; the picture's own grey of 16 bits before it is screened. */
export type PictureForm = (typeof PICTURE_FORMS)[number];

/** A file that the machine, or what drives it, is given. */
export type MachineFile =
  /** `fromRow`: no rows before it, counted from 1; for a burn that broke off. */
  | { readonly kind: 'pass'; readonly index: number; readonly fromRow?: number }
  | { readonly kind: 'walk'; readonly path: 'slab' | 'picture' | 'mark' }
  | { readonly kind: 'mark' }
  /** `negative`: black where the beam is strongest. */
  | { readonly kind: 'picture'; readonly index: number; readonly form: PictureForm; readonly negative: boolean }
  | { readonly kind: 'drawing' };

/** Which files there are of a piece, programs first. */
export function machineFiles(piece: Piece, form: PictureForm, negative: boolean): MachineFile[] {
  const mark: MachineFile[] = piece.placement.referenceMark ? [{ kind: 'mark' }, { kind: 'walk', path: 'mark' }] : [];
  return [
    ...piece.passes.map((_, index) => ({ kind: 'pass', index }) as const),
    { kind: 'walk', path: 'slab' },
    { kind: 'walk', path: 'picture' },
    ...mark,
    ...piece.passes.map((_, index) => ({ kind: 'picture', index, form, negative }) as const),
    { kind: 'drawing' },
  ];
}

/** What the file's name ends in after the piece's. */
export function machineFileEnding(file: MachineFile): string {
  switch (file.kind) {
    case 'pass':
      return `pass-${file.index + 1}${file.fromRow === undefined ? '' : `-from-row-${file.fromRow}`}.gcode`;
    case 'walk':
      return `walk-${file.path}.gcode`;
    case 'mark':
      return 'mark.gcode';
    case 'picture':
      return `pass-${file.index + 1}.png`;
    case 'drawing':
      return 'drawing.svg';
  }
}

/** Its media type. */
export function machineFileType({ kind }: MachineFile): string {
  if (kind === 'picture') return 'image/png';
  return kind === 'drawing' ? 'image/svg+xml' : 'text/plain';
}

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
