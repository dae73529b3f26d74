import type { PictureSheet } from '../burn/worker/questions.ts';
import { type Column, type ComparedProof, cellText, OUTCOME_COLUMNS, SETTING_COLUMNS } from './columns.ts';

const MOST_PIXELS = 1000;
const COLUMNS = 3;

const said = (columns: readonly Column[], { record }: ComparedProof): string[] =>
  columns
    .map((column) => [column, cellText(column, record)] as const)
    .filter(([, text]) => text !== '–')
    .map(([{ title, unit }, text]) => `${title} ${text}${unit ? ` ${unit}` : ''}`);

/** Finished proofs as pictures side by side, under each what it was made with and what came out. */
export function pictureSheet(name: string, proofs: readonly ComparedProof[]): PictureSheet {
  return {
    title: name || 'Proofs',
    note: 'Foreburn: predicted, not measured. All at one scale; colours are the proofs’ own.',
    columns: proofs.length === 4 ? 2 : COLUMNS,
    mostPixels: MOST_PIXELS,
    pictures: proofs.map((proof) => ({
      source: { kind: 'proof', id: proof.record.id },
      title: proof.name,
      lines: [...inPairs(said(SETTING_COLUMNS, proof), 3), ...inPairs(said(OUTCOME_COLUMNS, proof), 3)],
    })),
  };
}

/** Phrases put together, so many to a line. */
function inPairs(phrases: readonly string[], perLine: number): string[] {
  const lines: string[] = [];
  for (let i = 0; i < phrases.length; i += perLine) lines.push(phrases.slice(i, i + perLine).join(' · '));
  return lines;
}
