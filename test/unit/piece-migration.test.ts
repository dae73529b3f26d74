import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { parsePiece } from '../../src/core/piece/parse.ts';
import { PIECE_VERSION } from '../../src/core/piece/schema.ts';

const old = (version: number): string =>
  readFileSync(new URL(`../fixtures/piece/version-${version}.json`, import.meta.url), 'utf8');

describe('old piece files', () => {
  test('version 1 opens, and nothing that the maker set is lost', () => {
    const before = JSON.parse(old(1));
    const piece = parsePiece(old(1));
    expect(before.version).toBe(1);
    expect(piece.version).toBe(PIECE_VERSION);
    // What version 2 added says no more than version 1 did: nothing is known of how the coats were laid.
    for (const [i, coat] of piece.stack.coats.entries()) {
      const { layers, volumeSolids, thinnerShare, application, ...rest } = coat;
      expect(application).toEqual({ kind: 'even' });
      expect(layers).toBe(1);
      expect(rest).toEqual(before.stack.coats[i]);
    }
    expect({ ...piece, version: 1, stack: before.stack }).toEqual(before);
  });

  test('a damaged old file is still told field by field', () => {
    const broken = JSON.parse(old(1));
    broken.stack.coats[0].dryThicknessUm = -4;
    expect(() => parsePiece(JSON.stringify(broken))).toThrow(
      'stack.coats[0].dryThicknessUm: must be a number from 0 to 1000, got -4',
    );
    expect(() => parsePiece(JSON.stringify({ ...broken, stack: 3 }))).toThrow('stack');
  });
});
