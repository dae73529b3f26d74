/** Text that begins so would be taken for a formula by a table program, as would what hides behind a tab or a line break. */
const FORMULA = /^[=+\-@\t\r\n]/;

/** A value of a table: numbers stay numbers, null is left empty. */
export type CsvValue = string | number | null;

/**
 * Comma-separated values after RFC 4180 (Y. Shafranovich, 2005): records end with CR LF, fields with commas, quotes or line breaks are
 * quoted and their quotes doubled. Text that a table program would take for a formula is given an apostrophe, so that it stays text.
 * Numbers that are not finite are left empty.
 */
export const encodeCsv = (records: readonly (readonly CsvValue[])[]): string =>
  records.map((record) => `${record.map(field).join(',')}\r\n`).join('');

function field(value: CsvValue): string {
  if (value === null) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  const text = FORMULA.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
