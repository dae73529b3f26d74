/**
 * Steps that bring an older piece file up to date, by the version they start from: `MIGRATIONS[1]` makes version 2 out of
 * version 1. Each is a pure function of the parsed JSON and leaves what it does not know for the schema to complain about.
 */
export type PieceJson = Readonly<Record<string, unknown>>;
export type Migration = (piece: PieceJson) => PieceJson;

const isObject = (value: unknown): value is PieceJson =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Version 2 knows how a coat was put on; until then its unevenness was all that was told. */
function tellHowCoatsWereLaid(piece: PieceJson): PieceJson {
  const stack = piece['stack'];
  if (!isObject(stack) || !Array.isArray(stack['coats'])) return piece;
  const laid = { layers: 1, volumeSolids: 0.35, thinnerShare: 0, application: { kind: 'even' } };
  const coats = stack['coats'].map((coat: unknown) => (isObject(coat) ? { ...coat, ...laid } : coat));
  return { ...piece, stack: { ...stack, coats } };
}

export const MIGRATIONS: Readonly<Record<number, Migration>> = { 1: tellHowCoatsWereLaid };

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
