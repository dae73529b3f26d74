import { useState } from 'react';
import {
  Cell,
  Column as HeadCell,
  Row,
  type SortDescriptor,
  Table,
  TableBody,
  TableHeader,
} from 'react-aria-components';
import { COLUMNS, type Column, type ComparedProof, cellText, compareBy, differenceText } from './columns.ts';

interface ComparisonTableProps {
  proofs: readonly ComparedProof[];
  reference: string;
  onReference: (id: string) => void;
}

/** A row a proof; the chosen one is what the others are measured against. Arrow keys go about, Enter chooses or sorts. */
export function ComparisonTable({ proofs, reference, onReference }: ComparisonTableProps) {
  const [sort, setSort] = useState<SortDescriptor | undefined>();
  const against = proofs.find(({ id }) => id === reference) ?? proofs[0];
  const column = COLUMNS.find(({ id }) => id === sort?.column);
  const descending = sort?.direction === 'descending';
  const rows = column
    ? [...proofs].sort((a, b) => compareBy(column, a.record, b.record, descending))
    : sort
      ? [...proofs].sort((a, b) => (descending ? -1 : 1) * a.name.localeCompare(b.name, undefined, { numeric: true }))
      : proofs;
  return (
    <Table
      aria-label="Proofs"
      className="comparison-table"
      selectionMode="single"
      selectionBehavior="toggle"
      disallowEmptySelection
      selectedKeys={against ? [against.id] : []}
      onSelectionChange={(keys) => {
        const [id] = keys === 'all' ? [] : keys;
        if (id !== undefined) onReference(String(id));
      }}
      sortDescriptor={sort}
      onSortChange={setSort}
    >
      <TableHeader>
        <HeadCell id="name" isRowHeader allowsSorting className="comparison-head comparison-name">
          {({ sortDirection }) => <Heading title="Proof" unit="" direction={sortDirection} />}
        </HeadCell>
        {COLUMNS.map(({ id, title, unit }) => (
          <HeadCell key={id} id={id} allowsSorting className="comparison-head">
            {({ sortDirection }) => <Heading title={title} unit={unit} direction={sortDirection} />}
          </HeadCell>
        ))}
      </TableHeader>
      <TableBody>
        {rows.map(({ id, name, record, thumbnail }) => (
          <Row key={id} id={id} className="comparison-row" textValue={name}>
            <Cell className="comparison-name">
              <span className="comparison-proof">
                {thumbnail ? <img src={thumbnail} alt="" /> : <span className="comparison-blank" />}
                <span>
                  <b>{name}</b>
                  {id === against?.id && <small>measured against</small>}
                  {id !== against?.id && !record.result && <small>not computed yet</small>}
                </span>
              </span>
            </Cell>
            {COLUMNS.map((one) => (
              <Cell key={one.id}>
                <Value column={one} proof={{ id, name, record, thumbnail }} against={against} />
              </Cell>
            ))}
          </Row>
        ))}
      </TableBody>
    </Table>
  );
}

function Heading({ title, unit, direction }: { title: string; unit: string; direction?: 'ascending' | 'descending' }) {
  return (
    <span className="comparison-heading">
      <span>
        {title}
        <i aria-hidden="true">{direction === 'ascending' ? '↑' : direction === 'descending' ? '↓' : ''}</i>
      </span>
      <small>{unit}</small>
    </span>
  );
}

function Value({
  column,
  proof,
  against,
}: {
  column: Column;
  proof: ComparedProof;
  against: ComparedProof | undefined;
}) {
  const text = cellText(column, proof.record);
  const difference = against && proof.id !== against.id ? differenceText(column, proof.record, against.record) : null;
  return (
    <span className={`comparison-value${difference ? ' differs' : ''}`}>
      {text}
      {difference && (
        <small>
          {difference === 'differs' ? (
            <>
              <span aria-hidden="true">≠</span>
              <span className="for-readers">differs</span>
            </>
          ) : (
            difference
          )}
        </small>
      )}
    </span>
  );
}
