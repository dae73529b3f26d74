import { type CsvValue, encodeCsv } from '../../base/csv.ts';
import { type Column, type ComparedProof, OUTCOME_COLUMNS, SETTING_COLUMNS } from './columns.ts';

/** The table as a file: a record a proof, settings of every pass in fields of their own, units in the first line. */
export function comparisonCsv(proofs: readonly ComparedProof[]): string {
  const passes = Math.max(1, ...proofs.map(({ record }) => record.piece.passes.length));
  const settings = Array.from({ length: passes }, (_, i) => SETTING_COLUMNS.map((column) => ({ column, i }))).flat();
  const head = [
    'Proof',
    ...settings.map(({ column, i }) => `Pass ${i + 1}: ${heading(column)}`),
    ...OUTCOME_COLUMNS.map(heading),
  ];
  const records = proofs.map(({ name, record }): CsvValue[] => [
    name,
    ...settings.map(({ column, i }) => fieldOf(column, column.read(record)[i] ?? null)),
    ...OUTCOME_COLUMNS.map((column) => fieldOf(column, column.read(record)[0])),
  ]);
  return encodeCsv([head, ...records]);
}

const heading = ({ title, unit }: Column): string => (unit ? `${title} (${unit})` : title);

const fieldOf = ({ digits }: Column, value: number | string | null): CsvValue =>
  typeof value === 'number' ? Number(value.toFixed(digits)) : value;
