import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import type { ProofRecord } from '../../src/page/burn/proof-store.ts';
import { layOutSheet } from '../../src/page/burn/worker/draw-sheet.ts';
import {
  COLUMNS,
  type ComparedProof,
  cellText,
  compareBy,
  comparisonCsv,
  differenceText,
  encodeCsv,
  pictureSheet,
} from '../../src/page/compare/columns.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Pass } from '../../src/piece/schema.ts';

/** Reads RFC 4180 back, written from its grammar (section 2). */
function readCsv(text: string): string[][] {
  const records: string[][] = [];
  let record: string[] = [];
  let at = 0;
  while (at < text.length) {
    let field = '';
    if (text[at] === '"') {
      at++;
      while (text[at] !== '"' || text[at + 1] === '"') {
        if (text[at] === '"') at++;
        field += text[at];
        at++;
      }
      at++;
    } else {
      while (!',\r\n'.includes(text[at])) {
        field += text[at];
        at++;
      }
    }
    record.push(field);
    if (text[at] === ',') {
      at++;
    } else {
      expect(text.slice(at, at + 2)).toBe('\r\n');
      at += 2;
      records.push(record);
      record = [];
    }
  }
  return records;
}

describe('comma-separated values', () => {
  test('come back whatever is in them', () => {
    const random = createGenerator(4180);
    const alphabet = 'ab,"\r\n;\tµ –';
    for (let round = 0; round < 200; round++) {
      const records = Array.from({ length: 3 }, () =>
        Array.from({ length: 4 }, () => {
          const length = Math.floor(6 * random.nextUnit());
          return `x${Array.from({ length }, () => alphabet[Math.floor(alphabet.length * random.nextUnit())]).join('')}`;
        }),
      );
      expect(readCsv(encodeCsv(records))).toEqual(records);
    }
  });

  test('numbers stay numbers, what is not known stays empty', () => {
    expect(encodeCsv([['a', -2.5, null, Number.NaN, 0]])).toBe('a,-2.5,,,0\r\n');
  });

  test.each(['=1+1', '+49', '-2', '@SUM(A1)', '\t=1', '\r=1'])('text like %j cannot act as a formula', (text) => {
    const [[field]] = readCsv(encodeCsv([[text]]));
    expect(field).toBe(`'${text}`);
  });
});

let made = 0;
function proofOf(
  name: string,
  passes: readonly Partial<Pass>[],
  summary: Partial<{ burnTimeS: number; unclearedShare: number }> | null,
): ComparedProof {
  const piece = createPiece('Hollin Reach', 'photo.jpg');
  made++;
  const record = {
    id: `proof-${made}`,
    piece: { ...piece, passes: passes.map((pass) => ({ ...piece.passes[0], lightEndPower: 0.77, ...pass })) },
    result: summary && {
      summary: { burnTimeS: 600, unclearedShare: 0.0314, meanResidueUm: 0.16, scorchedShare: 0, ...summary },
    },
    sure: summary && {
      uncleared: { low: 0, middle: summary.unclearedShare ?? 0.0314, high: 0.1 },
      residueUm: { low: 0, middle: 0.16, high: 0.3 },
      scorched: { low: 0, middle: 0, high: 0 },
      clears: 0.5,
    },
    diagnosis: null,
    status: summary ? 'done' : 'waiting',
  } as unknown as ProofRecord;
  return { id: `pin-${made}`, name, record, thumbnail: '' };
}
const column = (id: string) => COLUMNS.find((one) => one.id === id)!;

describe('the table of proofs', () => {
  const weak = proofOf('=weak, "first"', [{}], {});
  const strong = proofOf('Strong', [{ lightEndPower: 0.87, screen: 'blue-noise' }], {
    burnTimeS: 540,
    unclearedShare: 0,
  });
  const twice = proofOf('Twice', [{}, { lightEndPower: 0.3, darkEndPower: 0 }], null);

  test('says settings of every pass, and a dash for what is not known', () => {
    expect(cellText(column('light'), twice.record)).toBe('77 + 30');
    expect(cellText(column('feed'), twice.record)).toBe('6000');
    expect(cellText(column('minutes'), twice.record)).toBe('–');
    expect(cellText(column('uncleared'), weak.record)).toBe('3.1');
  });

  test('marks what differs, by how much where it is a number', () => {
    expect(differenceText(column('light'), strong.record, weak.record)).toBe('+10');
    expect(differenceText(column('minutes'), strong.record, weak.record)).toBe('−1');
    expect(differenceText(column('screen'), strong.record, weak.record)).toBe('differs');
    expect(differenceText(column('light'), twice.record, weak.record)).toBe('differs');
    expect(differenceText(column('feed'), strong.record, weak.record)).toBeNull();
    expect(differenceText(column('minutes'), twice.record, weak.record)).toBeNull();
  });

  test('sorts by a number either way, with what is not known last', () => {
    const order = (descending: boolean) =>
      [twice, weak, strong]
        .sort((a, b) => compareBy(column('minutes'), a.record, b.record, descending))
        .map(({ name }) => name);
    expect(order(false)).toEqual(['Strong', weak.name, 'Twice']);
    expect(order(true)).toEqual([weak.name, 'Strong', 'Twice']);
  });

  test('as a file has units in its first line, a field for each pass, and names that stay text', () => {
    const [head, first, , third] = readCsv(comparisonCsv([weak, strong, twice]));
    expect(head).toContain('Pass 2: Light end (%)');
    expect(head).toContain('Residue (µm)');
    const at = (title: string) => head.indexOf(title);
    expect(first[0]).toBe(`'=weak, "first"`);
    expect(first[at('Pass 1: Feed (mm/min)')]).toBe('6000');
    expect(first[at('Pass 2: Light end (%)')]).toBe('');
    expect(third[at('Pass 2: Light end (%)')]).toBe('30');
    expect(third[at('Time (min)')]).toBe('');
    expect(first[at('Left dark (%)')]).toBe('3.14');
  });

  test('as a picture says of each proof what is known', () => {
    const { pictures } = pictureSheet('Hollin Reach', [strong]);
    const text = pictures[0].lines.join(' · ');
    expect(text).toContain('Light end 87 %');
    expect(text).toContain('Time 9.0 min');
    expect(text).not.toContain('–');
  });
});

describe('pictures side by side on a sheet', () => {
  const sheet = {
    title: 'Hollin Reach',
    note: 'predicted',
    columns: 3,
    mostPixels: 500,
    pictures: Array.from({ length: 5 }, (_, i) => ({
      source: { kind: 'proof', id: `${i}` } as const,
      title: `Proof ${i}`,
      lines:
        i === 4 ? ['a line that is a good deal longer than any picture is wide, so that it needs room'] : ['short'],
    })),
  };
  const sizes = [
    { width: 400, height: 300, pitchMm: 0.1 },
    { width: 200, height: 150, pitchMm: 0.2 },
    { width: 100, height: 200, pitchMm: 0.1 },
    { width: 400, height: 300, pitchMm: 0.1 },
    { width: 400, height: 300, pitchMm: 0.1 },
  ];
  const layout = layOutSheet(sheet, sizes, (text, px) => 0.5 * px * text.length);

  test('have one scale: what is as large on the slab is as large on the sheet, and never larger than its cells', () => {
    const [fine, coarse, narrow] = layout.places;
    expect([coarse.width, coarse.height]).toEqual([fine.width, fine.height]);
    expect([narrow.width / fine.width, narrow.height / fine.height]).toEqual([0.25, 2 / 3]);
    expect(layout.perMm).toBe(10);
    expect(layOutSheet({ ...sheet, mostPixels: 100 }, sizes, () => 0).perMm).toBe(2.5);
  });

  test('do not touch one another, the captions or the edge', () => {
    const captionWidth = Math.max(...sheet.pictures.map(({ lines }) => 0.5 * layout.linePx * lines[0].length));
    for (const [i, one] of layout.places.entries()) {
      expect(one.x + Math.max(one.width, captionWidth)).toBeLessThanOrEqual(layout.width - layout.margin + 1);
      expect(one.y + layout.pictureHeight + layout.headPx + 2 * layout.lineStep).toBeLessThan(layout.height);
      const under = layout.places[i + 3];
      if (under) expect(under.y).toBeGreaterThan(one.y + layout.pictureHeight + layout.headPx + layout.lineStep);
    }
  });
});
