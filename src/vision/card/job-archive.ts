import { strToU8, zipSync } from 'fflate';
import type { Card } from './card.ts';

/** A program of the card's burn job. */
export interface CardProgram {
  readonly name: string;
  readonly bytes: Uint8Array;
}

export const CARD_CAUTIONS: readonly string[] = [
  'Burn at the machine, never from a distance: enclosure shut or eyewear for the wavelength on, fumes drawn out, water at hand.',
  'Stay with it until it is done and cold: strong patches char, and thin scrap burns through.',
  'Only on paint that you know: no vinyl, nothing that holds chlorine or lead.',
];

/** Everything of a card in one file: its programs in their order, its data, and what to do with them. */
export function cardArchive(card: Card, programs: readonly CardProgram[]): Uint8Array {
  const files: Record<string, Uint8Array> = {};
  for (const { name, bytes } of programs) files[name] = bytes;
  files[`card-${card.id}.json`] = strToU8(`${JSON.stringify(card, null, 2)}\n`);
  files['READ ME.txt'] = strToU8(
    [
      `Card ${card.id} (${card.kind}), ${card.widthMm} x ${card.heightMm} mm`,
      '',
      'Paint scrap with the same coats in the same way. When the top coat is laid, tape off the place between the lower corner marks,',
      'so that it stays bare undercoat.',
      'Run the programs in this order, without moving the scrap in between:',
      ...programs.map(({ name }, i) => `  ${i + 1}. ${name}`),
      '',
      ...CARD_CAUTIONS,
      '',
    ].join('\r\n'),
  );
  return zipSync(files, { level: 6, mtime: '1980-01-02T00:00:00' });
}
