import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { readFile, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { LIMITS } from '../base/input-error.ts';
import { createPreparation, type Photo } from '../burn/prepare.ts';
import type { SwathRunner } from '../burn/runner.ts';
import { PROOF_MM, picturePx } from '../outputs/paper/paper.ts';
import { optionSeconds, quotePaper, sumQuote } from '../outputs/paper/quote-paper.ts';
import { machineFileEnding, machineFiles } from '../outputs/program/machine-file.ts';
import { openMachineFile } from '../outputs/program/machine-files.ts';
import { checkPiece, encodePieceFile } from '../piece/file.ts';
import type { Piece } from '../piece/schema.ts';
import { pieceFromTemplate } from '../shop/from-template.ts';
import type { Foretold } from '../shop/summary.ts';
import { type ShelfEntry, takeFromShelf } from '../studies/calibrate/shelf/shelf.ts';
import { EVEN_WISHES } from '../studies/choose/odds.ts';
import { obstacleWords, withSettings } from '../studies/choose/settings.ts';
import { type BatchRow, isPieceFile } from './batch-list.ts';
import { suggest } from './choose-command.ts';
import { proofAndDiagnosis } from './diagnose-command.ts';
import type { CliIo } from './io.ts';
import { readBack } from './job-command.ts';
import { decodePhoto, heldPhoto } from './open-job.ts';
import { createOutputs, type Outputs, sweep } from './outputs.ts';
import { paperBytes } from './paper-bytes.ts';
import { createProofPhoto, jpegUrl } from './proof-picture.ts';
import { readBytes, readPieceFile } from './read-files.ts';
import { sheetOf } from './sheet-command.ts';

export const BATCH_KINDS = ['piece', 'proof', 'sheet', 'quote', 'job'] as const;

export type BatchKind = (typeof BATCH_KINDS)[number];

/** What is the same for all rows. */
export interface BatchTerms {
  readonly folder: string;
  readonly template: Piece;
  readonly shelf: readonly ShelfEntry[];
  readonly kinds: readonly BatchKind[];
  readonly papers: 'html' | 'pdf';
  readonly findSettings: boolean;
  /** Day of the quotes, ms, and whether it was asked for: one that was not makes no quote be written anew. */
  readonly today: number;
  readonly dayAsked: boolean;
  /** Who is printed as the maker; a name of null is the piece's own workshop. */
  readonly maker: { readonly name: string | null; readonly mark: string | null };
  /** Files that nothing may be written over. */
  readonly inputs: readonly string[];
}

/** What a row came to. It is kept beside its files, so that the next run finds it. */
export interface BatchResult {
  readonly piece: Piece;
  readonly foretold: Foretold;
  readonly net: number;
  readonly total: number;
  /** What is to be said of its settings; null where nothing is. */
  readonly note: string | null;
}

interface Kept extends BatchResult {
  readonly key: string;
  readonly files: readonly { readonly name: string; readonly bytes: number }[];
}

/** Written last: where it stands, all the rest does. */
const RECORD = 'row.json';

/** What a row came to in an earlier run, if nothing has changed of what went into it and its files are there; else it is worked on. */
export async function batchRow(
  row: BatchRow,
  terms: BatchTerms,
  runner: SwathRunner,
  io: CliIo,
  onProgress: (share: number) => void,
): Promise<{ readonly result: BatchResult; readonly computed: boolean }> {
  const source = await readBytes(row.path, isPieceFile(row.path) ? LIMITS.pieceBytes : LIMITS.pictureBytes);
  const key = keyOf(row, terms, source);
  const folder = join(terms.folder, row.folder);
  const kept = await readKept(folder, key);
  // A run that was killed as it had just done the row left its names here.
  if (kept) await sweep(folder);
  if (kept) return { result: kept, computed: false };
  const outputs = createOutputs([row.path, ...terms.inputs]);
  try {
    await outputs.claimFolder(folder);
    const files: { name: string; bytes: number }[] = [];
    const write: Write = async (name, content, options) => {
      const { bytes } = await outputs.write(join(folder, name), content, options);
      files.push({ name, bytes });
    };
    const result = await work(row, terms, source, runner, io, write, onProgress);
    await outputs.write(join(folder, RECORD), `${JSON.stringify({ key, files, ...result } satisfies Kept)}\n`);
    // From here until all files have their names, some may be of an earlier run.
    await rm(join(folder, RECORD), { force: true });
    await outputs.commit();
    return { result, computed: true };
  } finally {
    await outputs.close();
  }
}

const sha256 = (bytes: string | Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** All that a row's files depend on. Where its file lies, and on which line of the list, is none of it. */
function keyOf(row: BatchRow, terms: BatchTerms, source: Uint8Array): string {
  const { row: _, path: __, paint, ...asked } = row;
  const { template, kinds, papers, findSettings, today, dayAsked, shelf, maker } = terms;
  const entry = shelf.find(({ name }) => name === paint) ?? null;
  const parts = [
    PROGRAM,
    asked,
    basename(row.path),
    sha256(source),
    template,
    entry,
    kinds,
    papers,
    findSettings,
    maker,
  ];
  return sha256(JSON.stringify([...parts, dayAsked ? today : null]));
}

/** Of the program's own files where it was built, so that a newer one computes anew. */
const PROGRAM = programHash();

function programHash(): string {
  const here = fileURLToPath(import.meta.url);
  if (!here.endsWith('.js')) return 'from source';
  const inChunks = readdirSync(dirname(here)).includes('main.js') ? dirname(here) : dirname(dirname(here));
  const hash = createHash('sha256');
  for (const name of readdirSync(inChunks, { recursive: true, encoding: 'utf8' }).sort())
    if (name.endsWith('.js')) hash.update(readFileSync(join(inChunks, name)));
  return hash.digest('hex');
}

async function readKept(folder: string, key: string): Promise<BatchResult | null> {
  try {
    const kept: Kept = JSON.parse(await readFile(join(folder, RECORD), 'utf8'));
    if (kept.key !== key) return null;
    for (const { name, bytes } of kept.files) if ((await stat(join(folder, name))).size !== bytes) return null;
    return { ...kept, piece: checkPiece(kept.piece) };
  } catch {
    // Never done, or something of it was taken away: it is done anew.
    return null;
  }
}

type Write = (
  name: string,
  content: Parameters<Outputs['write']>[1],
  options?: Parameters<Outputs['write']>[2],
) => Promise<void>;

async function work(
  row: BatchRow,
  terms: BatchTerms,
  source: Uint8Array,
  runner: SwathRunner,
  io: CliIo,
  write: Write,
  onProgress: (share: number) => void,
): Promise<BatchResult> {
  const opened = await openRow(row, terms, source);
  const { photo } = opened;
  const { piece, note } = terms.findSettings
    ? await withFoundSettings(opened.piece, photo, io)
    : { piece: opened.piece, note: null };
  const { onGrid, onSwath, jpeg } = createProofPhoto();
  const hooks = { onGrid, onSwath, onProgress, now: io.now };
  const { proof, said, diagnosis } = await proofAndDiagnosis({ piece, photo }, runner, hooks);
  const wants = (kind: BatchKind): boolean => terms.kinds.includes(kind);
  const preparation = createPreparation();
  const [option] = piece.quote.options;
  const sums = piece.quote.options.map((one) => sumQuote(piece, one, optionSeconds(preparation, photo, piece, one)));
  const own = sumQuote(
    piece,
    { ...option, pictureWidthMm: null, passes: null },
    proof.passes.reduce((sum, { timeS }) => sum + timeS, 0),
  );
  const maker = { ...terms.maker, name: terms.maker.name ?? piece.quote.workshop };
  const named = (ending: string): string => `${row.folder}${ending}`;
  if (wants('piece')) await write(named('.foreburn'), encodePieceFile({ piece, images: opened.images }));
  if (wants('proof')) await write(named('-proof.jpg'), await jpeg(PROOF_PX));
  if (wants('sheet')) {
    const url = jpegUrl(await jpeg(picturePx(PROOF_MM.sheet)));
    const { paper } = await sheetOf({ piece, photo, proof, said, proofUrl: url, maker }, runner);
    const name = named(`-sheet.${terms.papers}`);
    await write(name, await paperBytes(name, paper));
  }
  if (wants('quote')) {
    const pictureUrl = jpegUrl(await jpeg(picturePx(PROOF_MM.quote)));
    const paper = quotePaper({ piece, photo: photo.picture, sums, pictureUrl, maker, today: terms.today });
    const name = named(`-quote.${terms.papers}`);
    await write(name, await paperBytes(name, paper));
  }
  if (wants('job')) await writeJob(piece, photo, named, write);
  return {
    piece,
    foretold: {
      passSeconds: proof.passes.map(({ timeS }) => timeS),
      verdict: diagnosis.verdict,
      accepted: said.judgement.accepted,
    },
    net: own.net,
    total: own.total,
    note,
  };
}

/** Longest side of the proof's picture. */
const PROOF_PX = 1500;

interface OpenedRow {
  readonly piece: Piece;
  readonly photo: Photo;
  readonly images: ReadonlyMap<string, Uint8Array>;
}

async function openRow(row: BatchRow, { template, shelf }: BatchTerms, source: Uint8Array): Promise<OpenedRow> {
  const entry = shelf.find(({ name }) => name === row.paint);
  const painted = (piece: Piece): Piece => (entry ? takeFromShelf(piece, entry) : piece);
  if (isPieceFile(row.path)) {
    const file = await readPieceFile(row.path);
    const photo = { key: 'photo', ...(await heldPhoto(row.path, file)) };
    const { piece } = file;
    const ordered: Piece = {
      ...piece,
      name: row.named ? row.name : piece.name || row.name,
      quote: { ...piece.quote, client: row.client ?? piece.quote.client },
      order: { ...piece.order, ...row.order },
    };
    return { piece: painted(ordered), photo, images: file.images };
  }
  const photo = { key: 'photo', ...(await decodePhoto(source, row.path)) };
  // As long as the schema takes.
  const file = basename(row.path).slice(-200);
  const piece = pieceFromTemplate(painted(template), row, { file, ...sizeOf(photo) });
  return { piece, photo, images: new Map([[file, source]]) };
}

const sizeOf = ({ picture: { width, height } }: Photo) => ({ width, height });

async function withFoundSettings(
  piece: Piece,
  photo: Photo,
  io: CliIo,
): Promise<{ readonly piece: Piece; readonly note: string | null }> {
  const { suggestions, obstacle } = await suggest({ piece, photo }, EVEN_WISHES, { ...io, terminal: false });
  const [best] = suggestions;
  if (best) return { piece: withSettings(piece, best.pass, best.curve), note: null };
  return { piece, note: `No settings were found: ${obstacle ? obstacleWords(obstacle, piece) : 'nothing works.'}` };
}

async function writeJob(piece: Piece, photo: Photo, named: (ending: string) => string, write: Write): Promise<void> {
  for (const file of machineFiles(piece, 'dots-8', false)) {
    if (file.kind === 'picture') continue;
    const name = named(`-${machineFileEnding(file)}`);
    const { parts, promise } = await openMachineFile(file, piece, photo);
    await write(name, parts, promise ? { check: (at) => readBack(at, name, promise) } : {});
  }
}
