import { fitProblems, InputError } from '../base/input-error.ts';
import { checkDocument, parseJson, show } from '../base/json-document.ts';
import { migratePiece, type PieceJson } from './migrations.ts';
import { PIECE_VERSION, type Piece, pieceSchema } from './schema.ts';

/** What is wrong with a piece; the message names the place and the way out. The caller puts the file's name in front. */
export class PieceError extends InputError {
  /** As many as a message holds; the last one may say how many more there are. */
  readonly problems: readonly string[];
  constructor(problems: readonly string[], count = problems.length) {
    const fitting = fitProblems(problems, count);
    super(fitting.join('; '));
    this.problems = fitting;
  }
}

/**
 * Checks and, if it is older, migrates a piece given as JSON text.
 * @throws PieceError naming every problem: damaged JSON, not a piece, a newer version, unknown fields, values out of range.
 */
export function parsePiece(text: string): Piece {
  return checkPiece(parseJson(text, ([reason]) => new PieceError([`the piece is damaged: ${reason}`])));
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
  return checkDocument(pieceSchema, piece, 'the piece', (problems, count) => new PieceError(problems, count));
}
