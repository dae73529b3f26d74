import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { coatRowUm } from '../../src/physics/film/laid-film.ts';
import { createStackLayer } from '../../src/physics/material/laid-stack.ts';
import { parsePiece } from '../../src/piece/file.ts';
import { DEFAULT_CONTROL, PIECE_VERSION } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';

const old = (version: number): string =>
  readFileSync(new URL(`../fixtures/piece/version-${version}.json`, import.meta.url), 'utf8');

/** What version 9 lays on every piece. */
const ADDED_BY_9 = { order: { dueOn: null, state: 'idea', quantity: 1 }, shelfEntry: null };

/** The tones of version 9 are wanted evenly and power follows them alone, wherever an older piece has some. */
function asIn9<Value>(value: Value): Value {
  if (Array.isArray(value)) return value.map(asIn9) as Value;
  if (typeof value !== 'object' || value === null) return value;
  const inner = Object.fromEntries(Object.entries(value).map(([name, one]) => [name, asIn9(one)]));
  if ('exposureEv' in inner) return { ...inner, intent: [] } as Value;
  return ('serpentine' in inner ? { ...inner, evenPower: false } : inner) as Value;
}

/** What version 8 lays on a picture. */
const PICTURE_OF_8 = { cut: null, heals: [], rimMm: 0, matte: null, lettering: [] };

describe('old piece files', () => {
  test('version 1 opens, and nothing that the maker set is lost', () => {
    const before = asIn9(JSON.parse(old(1)));
    const piece = parsePiece(old(1));
    expect(before.version).toBe(1);
    expect(piece.version).toBe(PIECE_VERSION);
    // What later versions added says no more than version 1 did: nothing is known of how the coats were laid.
    for (const coat of piece.stack.coats) {
      expect(coat.application).toEqual({ kind: 'even' });
      expect(coat.layers).toBe(1);
    }
    expect(piece).toMatchObject({ ...before, version: PIECE_VERSION });
  });

  test('version 2 opens with plain wood, cold rows and nothing lost', () => {
    const before = asIn9(JSON.parse(old(2)));
    const piece = parsePiece(old(2));
    expect(before.version).toBe(2);
    expect(piece).toMatchObject({ ...before, version: PIECE_VERSION });
    expect(piece.heat.carryOver).toBe(false);
    expect(piece.slab.wood).toMatchObject({ ringContrast: 1, ringLightness: 0, sandedReliefUm: 0 });
    expect(piece.slab.knots).toEqual([]);
    expect(piece.machine).toMatchObject({ airFlow: 1, source: { pulses: null } });
  });

  test('version 3 opens with passes that burn everywhere and a slab nobody has photographed, and nothing lost', () => {
    const before = asIn9(JSON.parse(old(3)));
    const piece = parsePiece(old(3));
    expect(before.version).toBe(3);
    expect(piece).toMatchObject({ ...before, version: PIECE_VERSION });
    expect(piece.stack.film.found).toBeNull();
    expect(piece.passes.map((pass) => pass.only)).toEqual([null, null]);
    expect(piece.slab.photo).toBeNull();
    expect(piece.certainty.covariance).toBeNull();
    expect(piece.machine.control).toEqual(DEFAULT_CONTROL);
  });

  test('version 4 opens with the least power scale where it had a smaller one, a quote that follows it, and nothing else lost', () => {
    const before = asIn9(JSON.parse(old(4)));
    const piece = parsePiece(old(4));
    expect(before.version).toBe(4);
    expect(before.machine.control.powerScale).toBe(1e-7);
    expect(piece.machine.control.powerScale).toBe(1);
    before.machine.control.powerScale = 1;
    // The option that nobody had touched was for 250 mm, whatever the piece was.
    const [shown] = before.quote.options;
    expect(shown).toMatchObject({ name: 'As shown', pictureWidthMm: 250, passes: 1 });
    before.quote.options = [{ ...shown, pictureWidthMm: null, passes: null }];
    before.stack.film.shown = 'mean';
    for (const coat of before.stack.coats) Object.assign(coat, { opticalDepthUm: 0, touchedFactor: 1 });
    Object.assign(before.picture, PICTURE_OF_8);
    expect(piece).toEqual({ ...before, version: PIECE_VERSION, ...ADDED_BY_9 });
    // What was larger stays, and what was chosen.
    before.quote.options = [{ ...shown, pictureWidthMm: 180, passes: 2 }];
    expect(parsePiece(JSON.stringify(before)).quote.options).toEqual(before.quote.options);
    before.machine.control.powerScale = 255;
    expect(parsePiece(JSON.stringify(before)).machine.control.powerScale).toBe(255);
  });

  test('version 5 opens with coats that take up the beam however thin, the mean film shown, and nothing lost', () => {
    const before = asIn9(JSON.parse(old(5)));
    expect(before.version).toBe(5);
    const coats = before.stack.coats.map((coat: object) => ({ ...coat, opticalDepthUm: 0, touchedFactor: 1 }));
    const film = { ...before.stack.film, shown: 'mean' };
    Object.assign(before.picture, PICTURE_OF_8);
    expect(parsePiece(old(5))).toEqual({
      ...before,
      version: PIECE_VERSION,
      ...ADDED_BY_9,
      stack: { ...before.stack, coats, film },
    });
  });

  test('version 6 opens with skin that takes up no more for having been touched, and nothing lost', () => {
    const before = asIn9(JSON.parse(old(6)));
    expect(before.version).toBe(6);
    const coats = before.stack.coats.map((coat: object) => ({ ...coat, touchedFactor: 1 }));
    Object.assign(before.picture, PICTURE_OF_8);
    expect(parsePiece(old(6))).toEqual({
      ...before,
      version: PIECE_VERSION,
      ...ADDED_BY_9,
      stack: { ...before.stack, coats },
    });
  });

  test('version 7 opens with all of its photograph, nothing healed and nothing lettered, and nothing lost', () => {
    const before = asIn9(JSON.parse(old(7)));
    expect(before.version).toBe(7);
    const picture = { ...before.picture, ...PICTURE_OF_8 };
    expect(before.picture.strokes).toHaveLength(1);
    expect(parsePiece(old(7))).toEqual({ ...before, version: PIECE_VERSION, ...ADDED_BY_9, picture });
  });

  test('version 8 opens as one slab without a day, with the places of its passes over the picture itself, and nothing lost', () => {
    const before = asIn9(JSON.parse(old(8)));
    expect(before.version).toBe(8);
    const told = (pass: { only: object | null }) => ({
      ...pass,
      only: pass.only && { ...pass.only, across: 1, down: 1 },
    });
    expect(before.passes.at(-1).only).not.toBeNull();
    expect(before.log[0].passes[0].only).not.toBeNull();
    expect(parsePiece(old(8))).toEqual({
      ...before,
      version: PIECE_VERSION,
      ...ADDED_BY_9,
      passes: before.passes.map(told),
      log: before.log.map((entry: { passes: { only: object | null }[] }) => ({
        ...entry,
        passes: entry.passes.map(told),
      })),
    });
  });

  test('a film of version 5 that a photograph was read against stays as it was drawn', () => {
    const before = asIn9(JSON.parse(old(5)));
    before.stack.film.found = { xMm: 0, yMm: 0, pitchMm: 2, tiles: packTiles(2, 1, Uint8Array.of(120, 130)) };
    expect(parsePiece(JSON.stringify(before)).stack.film).toEqual({ ...before.stack.film, shown: 'drawn' });
  });

  test('an old piece burns as it did: its wood adds nothing to its film', () => {
    const { slab, stack } = parsePiece(old(2));
    const layer = createStackLayer(slab, stack);
    const place = { originXMm: -20, yMm: 31, pitchMm: 0.1 };
    const row = () => new Float32Array(300);
    const out = { filmUm: [row(), row()], reliefUm: row(), density: row(), shade: row() };
    layer.row(place, out);
    for (const [i, coat] of stack.coats.entries()) {
      expect(out.filmUm[i]).toEqual(coatRowUm(coat, i, stack.film, slab, place, row()));
    }
    expect(out.shade.every((shade) => shade === 0)).toBe(true);
    expect(out.density.every((density) => density === 1)).toBe(true);
  });

  test('a damaged old file is still told field by field', () => {
    const broken = asIn9(JSON.parse(old(1)));
    broken.stack.coats[0].dryThicknessUm = -4;
    expect(() => parsePiece(JSON.stringify(broken))).toThrow(
      'stack.coats[0].dryThicknessUm: must be a number from 0 to 1000, got -4',
    );
    expect(() => parsePiece(JSON.stringify({ ...broken, stack: 3 }))).toThrow('stack');
  });
});
