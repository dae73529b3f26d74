import { strToU8, zipSync } from 'fflate';
import { ARCHIVE_TIME } from '../../base/aligned-zip.ts';
import { joinBytes } from '../../base/bytes.ts';
import { CAUTION_CLOSE, CAUTIONS } from '../../base/cautions.ts';
import { radToDeg, ratioToPercent } from '../../base/units.ts';
import type { Photo } from '../../burn/prepare.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { bedDrawing } from '../paper/slab-drawing.ts';
import type { MachineFile, ProgramPromise } from './machine-file.ts';
import { openMachineFile } from './machine-files.ts';

/** What is burned on scrap before the slab: a card, or a test strip. */
export interface ScrapBurn {
  /** As in “Card 12, step wedge”. */
  readonly title: string;
  /** What its files' names begin with. */
  readonly name: string;
  readonly piece: Piece;
  readonly photo: Photo;
  /** What is done before it is laid on the bed, and after it was burned; sentences. */
  readonly before: readonly string[];
  readonly after: readonly string[];
  /** What goes with the programs. */
  readonly files: readonly NamedFile[];
}

export interface NamedFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

export interface ScrapJob {
  readonly zip: Uint8Array;
  /** How many programs burn. */
  readonly programs: number;
  readonly timeS: number;
  readonly cautions: readonly string[];
}

/**
 * Everything that a burn on scrap takes, in one archive: the lap round the scrap, the programs in their order, where to lay it, what to do.
 * @param check reads a program back and holds it against what was promised.
 * @throws JobRefused; what `check` throws; Cancelled.
 */
export async function scrapJob(
  burn: ScrapBurn,
  check: (program: Uint8Array, promise: ProgramPromise) => Promise<void>,
  signal?: AbortSignal,
): Promise<ScrapJob> {
  const { piece, photo, name } = burn;
  const cautions = new Set<string>();
  const write = async (file: MachineFile, fileName: string): Promise<{ file: NamedFile; timeS: number }> => {
    const opened = await openMachineFile(file, piece, photo, signal);
    const bytes = joinBytes(Array.from(opened.parts, (part) => part.bytes));
    if (opened.promise) await check(bytes, opened.promise);
    for (const caution of opened.cautions) cautions.add(caution);
    return { file: { name: fileName, bytes }, timeS: opened.timeS ?? 0 };
  };
  const lap = await write({ kind: 'walk', path: 'slab' }, `${name}-lap.gcode`);
  const programs: { file: NamedFile; timeS: number; pass: Pass }[] = [];
  for (const [index, pass] of piece.passes.entries()) {
    programs.push({ ...(await write({ kind: 'pass', index }, `${name}-program-${index + 1}.gcode`)), pass });
  }
  const drawing = { name: PLACEMENT, bytes: strToU8(bedDrawing(piece, photo.picture)) };
  const words = readMe(
    burn,
    lap.file.name,
    programs.map(({ file, timeS, pass }) => ({ name: file.name, timeS, pass })),
  );
  const files = [lap.file, ...programs.map(({ file }) => file), drawing, ...burn.files];
  const zip = zipSync(
    { 'READ ME.txt': strToU8(words), ...Object.fromEntries(files.map((file) => [file.name, file.bytes])) },
    { level: 6, mtime: ARCHIVE_TIME },
  );
  return {
    zip,
    programs: programs.length,
    timeS: programs.reduce((sum, { timeS }) => sum + timeS, 0),
    cautions: [...cautions],
  };
}

const PLACEMENT = 'placement.svg';

interface ListedProgram {
  readonly name: string;
  readonly timeS: number;
  readonly pass: Pass;
}

/** Lines end as every editor of plain text knows them. */
function readMe({ title, piece, before, after }: ScrapBurn, lap: string, programs: readonly ListedProgram[]): string {
  const { pilotPower } = piece.placement;
  const beam = pilotPower > 0 ? `the pilot beam at ${tenths(ratioToPercent(pilotPower))} %` : 'the beam off';
  const total = programs.reduce((sum, { timeS }) => sum + timeS, 0);
  const steps = [
    ...before,
    `${layingSentence(piece, 'scrap')} ${PLACEMENT} shows it from above.`,
    'Set the focus that the list below names; where it changes from one program to the next, set it anew.',
    `Run ${lap}: one slow lap round the scrap with ${beam}. Nothing may be in its way, and it must follow the edge.`,
    `Run the programs in this order without moving the scrap or homing in between, ${minutes(total)} in all:`,
  ];
  return [
    title,
    '',
    'Before any beam:',
    ...CAUTIONS.map((caution) => `- ${caution}`),
    `- ${CAUTION_CLOSE}`,
    '',
    ...steps.map((step, i) => `${i + 1}. ${step}`),
    ...programs.map(({ name, timeS, pass }) => `     ${name}: ${minutes(timeS)}, focus ${focusWords(pass)}`),
    ...after.map((step, i) => `${steps.length + i + 1}. ${step}`),
    '',
  ].join('\r\n');
}

/** Where on the bed a slab or a piece of scrap lies when the programs find it. */
export function layingSentence({ slab, placement, machine }: Piece, what: 'slab' | 'scrap'): string {
  const size = `${tenths(slab.widthMm)} × ${tenths(slab.heightMm)} mm`;
  if (machine.control.zero === 'picture-centre') {
    return `Lay the ${what} (${size}) flat and clamp it; bring the head over the middle of its picture before each program is started.`;
  }
  const turn = radToDeg(placement.turnRad);
  const turned =
    Math.abs(turn) < 0.05 ? '' : `, turned ${tenths(Math.abs(turn))}° ${turn > 0 ? 'counter-clockwise' : 'clockwise'}`;
  return `Lay the ${what} (${size}) with its middle ${tenths(placement.xMm)} mm from the left and ${tenths(placement.yMm)} mm from the front of the bed${turned}, and clamp it.`;
}

/** Where the focus of a pass is set. */
export function focusWords({ focusOffsetMm }: Pass): string {
  if (focusOffsetMm === 0) return 'on the face';
  return `${tenths(Math.abs(focusOffsetMm))} mm ${focusOffsetMm > 0 ? 'above' : 'below'} the face`;
}

const tenths = (value: number): string => String(Math.round(10 * value) / 10);

const minutes = (seconds: number): string =>
  seconds < 60 ? `${Math.max(1, Math.round(seconds))} s` : `${Math.round(seconds / 60)} min`;
