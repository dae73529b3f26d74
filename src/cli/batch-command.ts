import { join } from 'node:path';
import Papa from 'papaparse';
import { inLanes } from '../base/in-lanes.ts';
import { createPiece } from '../piece/defaults.ts';
import { materialsOf, paintOf } from '../shop/materials.ts';
import { burnMinutesOf } from '../shop/summary.ts';
import { type BatchList, COLUMNS, readBatchList } from './batch-list.ts';
import { BATCH_KINDS, type BatchKind, type BatchResult, type BatchTerms, batchRow } from './batch-row.ts';
import { type Command, createProgress } from './io.ts';
import { MAKER_OPTIONS, makerOption } from './maker-options.ts';
import { numberOption, type OptionValues, UsageError } from './options.ts';
import { dayOption } from './quote-command.ts';
import { readPieceFile } from './read-files.ts';
import { createCliRunner } from './runner.ts';
import { openShelf } from './shelf-command.ts';

/** More rows at once than this only take memory. */
const MOST_JOBS = 16;

export const BATCH: Command = {
  name: 'batch',
  operands: 'LIST.csv|FOLDER',
  beam: true,
  summary:
    'Work on many pieces: proof, diagnosis, piece, sheet, quote and machine files for each, and a report. Run again, it computes what has changed.',
  options: [
    {
      name: 'piece',
      value: 'FILE',
      reads: true,
      help: 'the piece whose wood, coats, machine, passes and terms the others get',
    },
    { name: 'out', value: 'DIR', help: 'where to write: a folder for each piece, report.csv and report.json' },
    { name: 'only', value: 'KIND', several: true, help: `of the files nothing but ${BATCH_KINDS.join(', ')}` },
    { name: 'find-settings', help: 'look for settings of each piece first, as "foreburn choose" does' },
    { name: 'shelf', value: 'FILE', reads: true, help: 'where the names of the column "paint" are' },
    { name: 'papers', value: 'KIND', help: 'pdf or html (default pdf)' },
    { name: 'date', value: 'YYYY-MM-DD', help: 'day of the quotes (default: today)' },
    ...MAKER_OPTIONS,
    { name: 'jobs', value: 'N', help: 'pieces worked on at once, each with its photograph in memory (default 1)' },
    { name: 'json', help: 'print the report' },
  ],
  reads: ([list]) => (list === undefined ? [] : [list]),
  async run(operands, values, io) {
    const [path, more] = operands;
    const folder = values['out'] as string | undefined;
    if (path === undefined || more !== undefined)
      throw new UsageError(
        `batch: give one list (columns: ${Object.keys(COLUMNS).join(', ')}) or one folder of photographs`,
      );
    if (folder === undefined) throw new UsageError('batch: say where to write (--out DIR)');
    const jobs = numberOption('--jobs', (values['jobs'] as string | undefined) ?? '1', 1, MOST_JOBS);
    if (!Number.isInteger(jobs)) throw new UsageError('--jobs: must be a whole number');
    const kinds = kindsOf(values);
    const papers = papersOf(values);
    const today = dayOption(values, io);
    const piecePath = values['piece'] as string | undefined;
    const shelfPath = values['shelf'] as string | undefined;
    const template = piecePath ? (await readPieceFile(piecePath)).piece : createPiece('', '');
    const shelf = shelfPath ? (await openShelf(shelfPath, io)).shelf.entries : null;
    const { mark } = await makerOption(template, values);
    const list = await readBatchList(path, shelf && new Set(shelf.map(({ name }) => name)));
    await io.outputs.claimFolder(folder);
    const terms: BatchTerms = {
      folder,
      template,
      shelf: shelf ?? [],
      kinds,
      papers,
      findSettings: values['find-settings'] === true,
      today,
      dayAsked: values['date'] !== undefined,
      maker: { name: (values['workshop'] as string | undefined) ?? null, mark },
      inputs: [path, piecePath, shelfPath].filter((one) => one !== undefined),
    };
    const progress = createProgress(io);
    const runner = createCliRunner();
    const shares = list.rows.map(() => 0);
    const lines = await inLanes(list.rows.length, jobs, async (i): Promise<Line> => {
      const row = list.rows[i];
      const onProgress = (share: number): void => {
        shares[i] = share;
        progress.show(shares.reduce((sum, one) => sum + one, 0) / shares.length, row.name);
      };
      try {
        const { result, computed } = await batchRow(row, terms, runner, io, onProgress);
        return { row: row.row, name: row.name, folder: row.folder, result, computed, faults: [] };
      } catch (error) {
        return {
          row: row.row,
          name: row.name,
          folder: row.folder,
          result: null,
          computed: false,
          faults: [(error as Error).message],
        };
      } finally {
        onProgress(1);
      }
    }).finally(() => {
      progress.clear();
      runner.dispose();
    });
    const report = reportOf(list, lines);
    await io.outputs.write(join(folder, 'report.json'), `${JSON.stringify(report, null, 2)}\n`);
    // A name that a table program would take for a formula is written so that it does not.
    const table = Papa.unparse(report.rows, { escapeFormulae: true });
    await io.outputs.write(join(folder, 'report.csv'), `${table}\r\n`);
    io.out(values['json'] ? `${JSON.stringify(report, null, 2)}\n` : reportText(report, folder));
    const failed = report.rows.filter(({ status }) => status === 'failed');
    if (failed.length > 0)
      io.fail(
        `${failed.length} of ${report.rows.length} could not be done:\n${failed.map(({ row, why }) => `row ${row}, ${why}`).join('\n')}`,
      );
  },
};

function kindsOf(values: OptionValues): readonly BatchKind[] {
  const named = values['only'] as string[] | undefined;
  const strange = named?.find((name) => !BATCH_KINDS.some((kind) => kind === name));
  if (strange !== undefined) throw new UsageError(`--only: must be one of ${BATCH_KINDS.join(', ')}, got "${strange}"`);
  return BATCH_KINDS.filter((kind) => named?.includes(kind) ?? true);
}

function papersOf(values: OptionValues): 'html' | 'pdf' {
  const papers = values['papers'] ?? 'pdf';
  if (papers !== 'html' && papers !== 'pdf') throw new UsageError(`--papers: must be pdf or html, got "${papers}"`);
  return papers;
}

/** A row with what came of it. */
interface Line {
  readonly row: number;
  readonly name: string;
  readonly folder: string;
  readonly result: BatchResult | null;
  readonly computed: boolean;
  readonly faults: readonly string[];
}

type Report = ReturnType<typeof reportOf>;

/** Times, paint and money are those of one slab; the sums at the end are of all slabs of all pieces that could be done. */
function reportOf({ bad }: BatchList, lines: readonly Line[]) {
  const refused = bad.map((one): Line => ({ ...one, folder: '', result: null, computed: false }));
  const rows = [...lines, ...refused].sort((a, b) => a.row - b.row).map(reportRow);
  const done = lines.flatMap(({ result }) => (result ? [result] : []));
  const times = (one: BatchResult, value: number): number => one.piece.order.quantity * value;
  const totals = new Map<string, number>();
  for (const one of done) {
    const { currency } = one.piece.quote;
    totals.set(currency, (totals.get(currency) ?? 0) + times(one, one.total));
  }
  return {
    rows,
    sums: {
      pieces: done.reduce((sum, one) => sum + times(one, 1), 0),
      burnMinutes: done.reduce((sum, one) => sum + times(one, burnMinutesOf(one.foretold)), 0),
      ...materialsOf(done.map(({ piece }) => piece)),
      total: Object.fromEntries(totals),
    },
  };
}

function reportRow({ row, name, folder, result, computed, faults }: Line) {
  const status = result ? (computed ? 'done' : 'kept') : 'failed';
  const piece = result?.piece;
  return {
    row,
    name: piece?.name ?? name,
    status,
    why: faults.join('; ') || (result?.note ?? ''),
    client: piece?.quote.client ?? '',
    due: piece?.order.dueOn ?? '',
    state: piece?.order.state ?? '',
    quantity: piece?.order.quantity ?? null,
    widthMm: piece?.slab.widthMm ?? null,
    heightMm: piece?.slab.heightMm ?? null,
    pictureWidthMm: piece?.picture.widthMm ?? null,
    burnMinutes: result && hundredths(burnMinutesOf(result.foretold)),
    likely: result && hundredths(result.foretold.accepted),
    verdict: result?.foretold.verdict ?? '',
    paintMl: piece ? hundredths(paintOf(piece).reduce((sum, { ml }) => sum + ml, 0)) : null,
    currency: piece?.quote.currency ?? '',
    net: result?.net ?? null,
    total: result?.total ?? null,
    folder,
  };
}

const hundredths = (value: number): number => Math.round(100 * value) / 100;

function reportText({ rows, sums }: Report, folder: string): string {
  const of = (status: string): number => rows.filter((row) => row.status === status).length;
  const hours = Math.floor(sums.burnMinutes / 60);
  const money = Object.entries(sums.total).map(([currency, total]) => `${currency} ${total.toFixed(2)}`);
  return [
    ...rows
      .filter(({ status }) => status !== 'failed')
      .map(
        ({ row, name, burnMinutes, verdict, why }) =>
          `row ${row}, ${name}: ${Math.round(burnMinutes ?? 0)} min. ${verdict}${why ? ` ${why}` : ''}`,
      ),
    `${of('done')} done, ${of('kept')} as they were, ${of('failed')} failed.`,
    `${sums.pieces} ${sums.pieces === 1 ? 'slab' : 'slabs'}: ${hours} h ${Math.round(sums.burnMinutes - 60 * hours)} min of burning; ${sums.paints.map(({ name, ml }) => `${Math.ceil(ml)} mL ${name}`).join(', ') || 'no paint'}; ${money.join(', ') || 'nothing'} in all.`,
    `Written to ${folder}.`,
    '',
  ].join('\n');
}
