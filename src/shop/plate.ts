import { CAUTION_CLOSE, CAUTIONS } from '../base/cautions.ts';
import type { Photo } from '../burn/prepare.ts';
import { bedOfSlabs } from '../outputs/paper/slab-drawing.ts';
import { type MachineFile, machineFileEnding } from '../outputs/program/machine-file.ts';
import { type OpenedFile, openMachineFile } from '../outputs/program/machine-files.ts';
import { focusWords, layingSentence } from '../outputs/program/scrap-job.ts';
import type { Piece } from '../piece/schema.ts';

/** A slab that lies on a bed with others: its piece has the place. */
export interface PlateSlab {
  /** What its files are called after. */
  readonly name: string;
  readonly piece: Piece;
  /** Asked for whenever it is needed, and let go of again, so that a full bed takes no more memory than a slab. */
  readonly photo: () => Promise<Photo>;
  readonly photoSize: { readonly width: number; readonly height: number };
}

interface PlateProgram {
  /** What the file's name ends in. */
  readonly ending: string;
  readonly open: () => Promise<OpenedFile>;
}

/** A file of a bed; more than one program are to be joined with stops between them. */
export interface PlateFile {
  readonly name: string;
  readonly programs: readonly PlateProgram['open'][];
}

/**
 * The programs of a bed: for each slab a lap round it and one round its picture, and its passes, each by itself or all of them as one with
 * stops between.
 * @param together one program for all that burns
 */
export function plateFiles(slabs: readonly PlateSlab[], together: boolean): PlateFile[] {
  const programsOf = ({ piece, photo }: PlateSlab, files: readonly MachineFile[]): PlateProgram[] =>
    files.map((file) => ({
      ending: machineFileEnding(file),
      open: async () => openMachineFile(file, piece, await photo()),
    }));
  const single = (of: (slab: PlateSlab) => readonly MachineFile[]): PlateFile[] =>
    slabs.flatMap((slab, i) =>
      programsOf(slab, of(slab)).map(({ ending, open }) => ({
        name: `${i + 1}-${slab.name}-${ending}`,
        programs: [open],
      })),
    );
  const passes = ({ piece }: PlateSlab): MachineFile[] => piece.passes.map((_, index) => ({ kind: 'pass', index }));
  const walks = single(() => [
    { kind: 'walk', path: 'slab' },
    { kind: 'walk', path: 'picture' },
  ]);
  if (!together) return [...walks, ...single(passes)];
  const all = slabs.flatMap((slab) => programsOf(slab, passes(slab)).map(({ open }) => open));
  return [...walks, { name: 'all-slabs.gcode', programs: all }];
}

/** Why one program cannot burn these slabs one after another, as a sentence; null if it can. */
export function togetherFault(pieces: readonly Piece[]): string | null {
  const [first] = pieces;
  const other = pieces.find(({ machine }) => JSON.stringify(machine) !== JSON.stringify(first.machine));
  if (other)
    return `“${first.name}” and “${other.name}” are set for different machines or controllers: give both the same one, or write a program for each slab.`;
  if (first.machine.control.zero === 'picture-centre')
    return 'Positions count from the picture’s middle, which is another one for each slab: let them count from the bed’s corner, or write a program for each slab.';
  return null;
}

export const plateDrawing = (slabs: readonly PlateSlab[]): string =>
  bedOfSlabs(
    slabs.map(({ piece, photoSize }, i) => ({
      number: i + 1,
      name: piece.name || 'Untitled piece',
      piece,
      photo: photoSize,
    })),
  );

/** What to do with the files of a bed, for people. Lines end as every editor of plain text knows them. */
export function plateWords(slabs: readonly PlateSlab[], files: readonly PlateFile[], drawing: string): string {
  const joined = files.find(({ programs }) => programs.length > 1);
  const focus = slabs.map(({ piece }, i) => {
    const passes = piece.passes.map((pass, index) => `pass ${index + 1} ${focusWords(pass)}`).join(', ');
    return `${i + 1}. ${piece.name || 'Untitled piece'}: ${tenths(piece.slab.thicknessMm)} mm thick, focus ${passes}.`;
  });
  const steps = [
    `Lay the slabs as ${drawing} shows them from above:`,
    ...slabs.map(({ piece }, i) => `     ${i + 1}: ${layingSentence(piece, 'slab')}`),
    'Run each lap first: nothing may be in its way, and it must follow the edge.',
    joined
      ? `Run ${joined.name}. It stops, beam off, after every pass: look at what was burned, set the focus for what comes next, then let it go on.`
      : 'Run the passes slab by slab, in the order of their numbers. Set the focus anew for each.',
    'Do not move a slab that still waits, and do not home in between.',
  ];
  let count = 0;
  return [
    'Before any beam:',
    ...[...CAUTIONS, CAUTION_CLOSE].map((caution) => `- ${caution}`),
    '',
    ...steps.map((step) => (step.startsWith(' ') ? step : `${++count}. ${step}`)),
    '',
    'Focus:',
    ...focus,
    '',
  ].join('\r\n');
}

const tenths = (value: number): string => String(Math.round(10 * value) / 10);
