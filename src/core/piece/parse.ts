import type * as z from '../zod.ts';
import { migratePiece, type PieceJson } from './migrations.ts';
import { PIECE_VERSION, type Piece, pieceSchema } from './schema.ts';

/** What is wrong with a piece; the message names the place and the way out. The caller puts the file's name in front. */
export class PieceError extends Error {
  readonly problems: readonly string[];
  constructor(problems: readonly string[]) {
    super(problems.join('; '));
    this.name = 'PieceError';
    this.problems = problems;
  }
}

/**
 * Checks and, if it is older, migrates a piece given as JSON text.
 * @throws PieceError naming every problem: damaged JSON, not a piece, a newer version, unknown fields, values out of range.
 */
export function parsePiece(text: string): Piece {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new PieceError([`the piece is damaged: its JSON cannot be read (${(error as Error).message})`]);
  }
  return checkPiece(json);
}

/** Like `parsePiece`, for parsed JSON. */
export function checkPiece(json: unknown): Piece {
  if (typeof json !== 'object' || json === null || (json as Record<string, unknown>)['format'] !== 'foreburn') {
    throw new PieceError(['this is not a Foreburn piece: it lacks "format": "foreburn"']);
  }
  const version = (json as PieceJson)['version'];
  if (typeof version !== 'number' || !Number.isInteger(version) || version < 1) {
    throw new PieceError([`version: must be a whole number from 1 to ${PIECE_VERSION}, got ${show(version)}`]);
  }
  if (version > PIECE_VERSION) {
    throw new PieceError([
      `the piece was saved by a newer Foreburn (version ${version}, this one reads up to ${PIECE_VERSION}); update Foreburn to open it`,
    ]);
  }
  const piece = migratePiece(json as PieceJson, version, PIECE_VERSION);
  const result = pieceSchema.safeParse(piece);
  if (result.success) return result.data;
  throw new PieceError(result.error.issues.map((issue) => describe(issue, piece)));
}

function describe(issue: z.core.$ZodIssue, root: unknown): string {
  const place = issue.path
    .map((key, i) => (typeof key === 'number' ? `[${key}]` : i === 0 ? key : `.${String(key)}`))
    .join('');
  const got = show(issue.path.reduce<unknown>((value, key) => asRecord(value)[key as string], root));
  switch (issue.code) {
    case 'unrecognized_keys':
      return `${place || 'the piece'}: unknown field ${issue.keys.map((key) => `"${key}"`).join(', ')}; remove it or check its spelling`;
    case 'invalid_value':
      return `${place}: must be ${issue.values.map((value) => JSON.stringify(value)).join(' or ')}, got ${got}`;
    case 'invalid_union':
      return `${place}: has a kind that is not known, got ${got}`;
    case 'too_big':
      if (issue.origin === 'array') return `${place}: must have at most ${issue.maximum} entries`;
      if (issue.origin === 'string') return `${place}: must be at most ${issue.maximum} characters long`;
      return `${place}: must be ${issue.message}, got ${got}`;
    case 'too_small':
      if (issue.origin === 'array') return `${place}: must have at least ${issue.minimum} entry`;
      return `${place}: must be ${issue.message}, got ${got}`;
    case 'invalid_type':
      return `${place}: must be ${/^a /.test(issue.message) ? issue.message : `of type ${issue.expected}`}, got ${got}`;
    default:
      return `${place}: must be ${issue.message}, got ${got}`;
  }
}

const asRecord = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};

function show(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value);
  return text.length > 40 ? `${text.slice(0, 37)}…` : text;
}
