/**
 * Steps that bring an older piece file up to date, by the version they start from: `MIGRATIONS[1]` makes version 2 out of
 * version 1. Each is a pure function of the parsed JSON. Version 1 is the first, so there is none yet.
 */
export type PieceJson = Readonly<Record<string, unknown>>;
export type Migration = (piece: PieceJson) => PieceJson;

export const MIGRATIONS: Readonly<Record<number, Migration>> = {};

/**
 * Applies the steps from one version to another, in order, and sets the version after each.
 * @throws RangeError if a step is missing.
 */
export function migratePiece(
  piece: PieceJson,
  from: number,
  to: number,
  migrations: Readonly<Record<number, Migration>> = MIGRATIONS,
): PieceJson {
  let current = piece;
  for (let version = from; version < to; version++) {
    const step = migrations[version];
    if (!step) throw new RangeError(`there is no step from version ${version} of the piece file to ${version + 1}`);
    current = { ...step(current), version: version + 1 };
  }
  return current;
}
