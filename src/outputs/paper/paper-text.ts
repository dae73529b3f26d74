import { type Block, keepTogether, type Paper } from './paper.ts';

/** A paper as plain text for a terminal; pictures and drawings are left out. */
export const paperText = ({ title, subtitle, blocks }: Paper): string =>
  keepTogether([[title, subtitle].filter(Boolean).join(' · '), ...blocks.flatMap(blockText)].join('\n'));

function blockText(block: Block): string[] {
  const list = (items: readonly string[], mark: (i: number) => string) => items.map((item, i) => `${mark(i)} ${item}`);
  switch (block.kind) {
    case 'heading':
      return ['', block.text];
    case 'text':
      return [block.text];
    case 'facts':
      return block.facts.map(([label, value]) => `${label}: ${value}`);
    case 'table':
      return tableText([block.head, ...block.rows], block.numeric ?? []);
    case 'steps':
      return list(block.steps, (i) => `${i + 1}.`);
    case 'ticks':
    case 'bullets':
      return list(block.items, () => '-');
    case 'columns':
      return block.columns.flatMap((blocks) => blocks.flatMap(blockText));
    case 'picture':
    case 'drawing':
    case 'lines':
    case 'page-break':
      return [];
  }
}

function tableText(rows: readonly (readonly string[])[], numeric: readonly boolean[]): string[] {
  const widths = rows[0].map((_, i) => Math.max(...rows.map((row) => [...row[i]].length)));
  return rows.map((row) =>
    row
      .map((cell, i) => {
        const room = ' '.repeat(widths[i] - [...cell].length);
        return numeric[i] ? room + cell : cell + room;
      })
      .join('  ')
      .trimEnd(),
  );
}
