import { join } from 'node:path';
import { BRIEF_CAUTIONS } from '../base/cautions.ts';
import { fileName } from '../base/file-name.ts';
import { joinPrograms } from '../outputs/program/joined-program.ts';
import type { ProgramPromise } from '../outputs/program/machine-file.ts';
import type { OpenedFile } from '../outputs/program/machine-files.ts';
import { JobRefused } from '../outputs/program/refusals.ts';
import { JoinedVerifier } from '../outputs/program/verify/joined-verifier.ts';
import { fieldOf } from '../piece/fields.ts';
import { type BedSize, laidPiece, layOnBed, slabToLay } from '../shop/bed.ts';
import { type PlateFile, type PlateSlab, plateDrawing, plateFiles, plateWords, togetherFault } from '../shop/plate.ts';
import { type Command, type CommandIo, createProgress } from './io.ts';
import { readBackBy } from './job-command.ts';
import { CliError, quantityOption, UsageError } from './options.ts';
import { PIECES_OPERAND, readShopPieces, type ShopPiece } from './shop-pieces.ts';

export const BED: Command = {
  name: 'bed',
  operands: PIECES_OPERAND,
  beam: true,
  summary:
    'Lay several slabs on one bed, or on as many as it takes: a drawing to put them down by, laps and programs for each bed.',
  options: [
    { name: 'out', value: 'DIR', help: 'where to write: a folder for each bed' },
    { name: 'size', value: 'WxD', help: 'width and depth of the bed, mm (default: that of the first piece)' },
    { name: 'together', help: 'one program for all slabs of a bed, which stops between them' },
    { name: 'drawing', help: 'nothing but the drawings' },
    { name: 'json', help: 'print where each slab lies' },
  ],
  async run(operands, values, io) {
    const folder = values['out'] as string | undefined;
    if (folder === undefined) throw new UsageError('bed: say where to write (--out DIR)');
    const asked = values['size'] === undefined ? null : sizeOption(values['size'] as string);
    // Of those of one size the first due comes first.
    const waiting = (await readShopPieces('bed', operands))
      .filter(({ piece: { order } }) => order.state !== 'burned' && order.state !== 'delivered')
      .sort((a, b) => (a.piece.order.dueOn ?? NEVER).localeCompare(b.piece.order.dueOn ?? NEVER));
    if (waiting.length === 0) throw new CliError('bed: all of these pieces are burned already');
    const { placement } = waiting[0].piece;
    const bed = asked ?? { widthMm: placement.bedWidthMm, heightMm: placement.bedHeightMm };
    const together = values['together'] === true;
    const fault = together ? togetherFault(waiting.map(({ piece }) => piece)) : null;
    if (fault) throw new CliError(fault);
    const sizes = new Map<string, { width: number; height: number }>();
    for (const { path, photo } of waiting) {
      const { width, height } = (await photo()).picture;
      sizes.set(path, { width, height });
    }
    const laid = layOnBed(
      waiting.map(({ path, piece }) => slabToLay(path, piece, sizes.get(path)!)),
      bed,
    );
    const byPath = new Map(waiting.map((one) => [one.path, one]));
    const progress = createProgress(io);
    for (const [i, on] of laid.beds.entries()) {
      const slabs = on.map((one): PlateSlab => {
        const { piece, photo } = byPath.get(one.id)!;
        const name = fileName(piece.name);
        return { name, piece: laidPiece(piece, one, bed), photo, photoSize: sizes.get(one.id)! };
      });
      const into = join(folder, `bed-${i + 1}`);
      await io.outputs.claimFolder(into);
      await io.outputs.write(join(into, DRAWING), plateDrawing(slabs));
      if (values['drawing']) continue;
      const files = plateFiles(slabs, together);
      for (const file of files) {
        progress.show(i / laid.beds.length, file.name);
        await writePrograms(join(into, file.name), file, io).finally(progress.clear);
      }
      await io.outputs.write(join(into, 'READ ME.txt'), plateWords(slabs, files, DRAWING));
    }
    const told = { bed, beds: laid.beds, left: laid.left };
    io.out(values['json'] ? `${JSON.stringify(told, null, 2)}\n` : bedText(laid, byPath, folder));
    if (laid.left.length > 0)
      io.fail(
        `Too large for a bed of ${bed.widthMm} × ${bed.heightMm} mm, turned or not, with its run-ups: ${laid.left.join(', ')}`,
      );
  },
};

const DRAWING = 'drawing.svg';

/** After any day. */
const NEVER = '9999-12-31';

/** Photographs are opened one after another: no two are in memory at once. */
async function writePrograms(path: string, { programs }: PlateFile, io: CommandIo): Promise<void> {
  const promises: ProgramPromise[] = [];
  const onOpened = ({ promise }: OpenedFile): void => {
    if (promise) promises.push(promise);
  };
  try {
    await io.outputs.write(path, joinPrograms(programs, onOpened), {
      check: (at) => readBackBy(at, path, new JoinedVerifier(promises)),
    });
  } catch (error) {
    throw error instanceof JobRefused ? new CliError(`${path}: ${error.message}`) : error;
  }
}

function bedText(
  { beds }: ReturnType<typeof layOnBed>,
  pieces: ReadonlyMap<string, ShopPiece>,
  folder: string,
): string {
  const lines = beds.flatMap((on, i) => [
    `Bed ${i + 1}:`,
    ...on.map(
      ({ id, xMm, yMm, turnRad }, k) =>
        `  ${k + 1}. ${pieces.get(id)!.piece.name || id}: middle ${xMm} mm from the left and ${yMm} mm from the front${turnRad === 0 ? '' : ', turned by a quarter, counter-clockwise'}`,
    ),
  ]);
  return `${[...lines, `Written to ${folder}.`, ...BRIEF_CAUTIONS].join('\n')}\n`;
}

function sizeOption(text: string): BedSize {
  const [width, height, ...more] = text.split('x');
  if (height === undefined || more.length > 0) throw new UsageError(`--size: write it as 400x300, got "${text}"`);
  return {
    widthMm: quantityOption('--size', width, fieldOf('placement.bedWidthMm')),
    heightMm: quantityOption('--size', height, fieldOf('placement.bedHeightMm')),
  };
}
