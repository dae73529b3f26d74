import { describe, expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece, PieceError, parsePiece } from '../../src/piece/file.ts';
import { migratePiece, type PieceJson } from '../../src/piece/migrations.ts';
import { PIECE_VERSION, SCREEN_METHODS } from '../../src/piece/schema.ts';
import { randomPiece } from '../helpers/random-piece.ts';

type Json = Record<string, unknown> | unknown[];
const fresh = (): Record<string, unknown> => JSON.parse(JSON.stringify(createPiece('Landing', 'landing.jpg')));

/** The piece with one place set to another value, or taken away. */
function changed(path: readonly (string | number)[], value: unknown): Record<string, unknown> {
  const piece = fresh();
  const last = path.at(-1) as string;
  const parent = path.slice(0, -1).reduce<Json>((at, key) => (at as Record<string, Json>)[key as string], piece);
  if (value === undefined) delete (parent as Record<string, unknown>)[last];
  else (parent as Record<string, unknown>)[last] = value;
  return piece;
}

/** Paths of all numbers in the piece. */
function numbersIn(value: unknown, path: (string | number)[] = []): (string | number)[][] {
  if (typeof value === 'number') return [path];
  if (typeof value !== 'object' || value === null) return [];
  const entries: [string | number, unknown][] = Array.isArray(value)
    ? value.map((one, i) => [i, one])
    : Object.entries(value);
  return entries.flatMap(([key, one]) => numbersIn(one, [...path, key]));
}
const placeOf = (path: readonly (string | number)[]): string =>
  path.map((key, i) => (typeof key === 'number' ? `[${key}]` : i === 0 ? key : `.${key}`)).join('');

function problemsOf(json: unknown): readonly string[] {
  try {
    checkPiece(json);
  } catch (error) {
    expect(error).toBeInstanceOf(PieceError);
    return (error as PieceError).problems;
  }
  return [];
}

describe('a valid piece', () => {
  test('is taken as it is', () => {
    const piece = createPiece('Landing', 'landing.jpg');
    expect(parsePiece(JSON.stringify(piece))).toEqual(piece);
    expect(checkPiece(fresh())).toEqual(piece);
  });

  test('every screen is known, and a pass may have its own tone or none', () => {
    for (const screen of SCREEN_METHODS) expect(problemsOf(changed(['passes', 0, 'screen'], screen))).toEqual([]);
    expect(problemsOf(changed(['passes', 0, 'tone'], fresh()['picture'] && createPiece('', '').picture.tone))).toEqual(
      [],
    );
  });

  test('random ones go through text and back unchanged', () => {
    for (let seed = 0; seed < 120; seed++) {
      const piece = randomPiece(seed);
      expect(parsePiece(JSON.stringify(piece))).toEqual(piece);
    }
  });
});

describe('the day by which a piece is due', () => {
  test('is none, or one that the calendar has', () => {
    for (const day of [null, '2031-05-02', '2032-02-29'])
      expect(problemsOf(changed(['order', 'dueOn'], day))).toEqual([]);
  });

  test.each(['2031-02-29', '2031-13-01', '2.5.2031', '2031-05-02T10:00', ''])('%s: none', (day) => {
    expect(problemsOf(changed(['order', 'dueOn'], day))).toEqual([
      `order.dueOn: must be a day like 2031-05-02, got "${day}"`,
    ]);
  });
});

describe('every number of a piece', () => {
  const paths = numbersIn(fresh()).filter((path) => path[0] !== 'version');

  test('is looked at', () => expect(paths.length).toBeGreaterThan(60));

  test.each([
    ['NaN', Number.NaN],
    ['infinity', Number.POSITIVE_INFINITY],
    ['minus infinity', Number.NEGATIVE_INFINITY],
    ['absurdly large', 1e12],
    ['absurdly negative', -1e12],
    ['text', 'much'],
    ['null', null],
  ])('%s: the place and the range are named', (_, value) => {
    for (const path of paths) {
      const problems = problemsOf(changed(path, value));
      // A point of a curve that is far off may also break the order of its points.
      if (!path.includes('curve')) expect(problems).toHaveLength(1);
      expect(problems[0].startsWith(`${placeOf(path)}: must be a `)).toBe(true);
      expect(problems[0]).toMatch(/number from -?[\d.]+ to [\d.]+, got /);
      expect(problems[0].endsWith(`got ${typeof value === 'number' ? value : JSON.stringify(value)}`)).toBe(true);
    }
  });

  test('missing: the place is named', () => {
    for (const path of paths.filter((one) => typeof one.at(-1) === 'string')) {
      const problems = problemsOf(changed(path, undefined));
      expect(problems).toHaveLength(1);
      expect(problems[0].startsWith(`${placeOf(path)}: must be a `)).toBe(true);
      expect(problems[0].endsWith('got nothing')).toBe(true);
    }
  });

  test('1e999 in the text is infinity', () => {
    const text = JSON.stringify(changed(['machine', 'source', 'fullPowerW'], 12345)).replace('12345', '1e999');
    expect(() => parsePiece(text)).toThrow(
      'machine.source.fullPowerW: must be a number from 0.01 to 1000, got Infinity',
    );
  });
});

describe('what is wrong is told with its place', () => {
  const cases: [string, (string | number)[], unknown, string][] = [
    [
      'a negative thickness',
      ['stack', 'coats', 1, 'dryThicknessUm'],
      -3,
      'stack.coats[1].dryThicknessUm: must be a number from 0 to 1000, got -3',
    ],
    [
      'half a seed',
      ['stack', 'film', 'seed'],
      1.5,
      'stack.film.seed: must be a whole number from 0 to 4294967295, got 1.5',
    ],
    [
      'an unknown field',
      ['machine', 'colour'],
      'red',
      'machine: unknown field "colour"; remove it or check its spelling',
    ],
    ['an unknown field at the top', ['pases'], [], 'the piece: unknown field "pases"; remove it or check its spelling'],
    [
      'an unknown field in a pass',
      ['passes', 0, 'speed'],
      1,
      'passes[0]: unknown field "speed"; remove it or check its spelling',
    ],
    [
      'an unknown shape',
      ['slab', 'shape'],
      'round',
      'slab.shape: must be "oval" or "rectangle" or "outline", got "round"',
    ],
    ['an unknown screen', ['passes', 0, 'screen'], 'fancy', 'passes[0].screen: must be "model-diffusion"'],
    ['a long name', ['name'], 'a'.repeat(201), 'name: must be at most 200 characters long'],
    ['a number for a name', ['name'], 5, 'name: must be of type string, got 5'],
    ['no pass', ['passes'], [], 'passes: must have at least 1 entry'],
    [
      'too many passes',
      ['passes'],
      Array(13).fill(createPiece('', '').passes[0]),
      'passes: must have at most 12 entries',
    ],
    [
      'too many coats',
      ['stack', 'coats'],
      Array(9).fill(createPiece('', '').stack.coats[0]),
      'stack.coats: must have at most 8 entries',
    ],
    ['passes that are no list', ['passes'], {}, 'passes: must be of type array, got {}'],
    ['a machine that is none', ['machine'], null, 'machine: must be of type object, got null'],
    ['yes for true', ['passes', 0, 'serpentine'], 'yes', 'passes[0].serpentine: must be of type boolean, got "yes"'],
    [
      'a curve that turns back',
      ['picture', 'tone', 'curve'],
      [
        [0, 0],
        [0.5, 0.2],
        [0.5, 0.8],
      ],
      'picture.tone.curve: must be points whose first values rise',
    ],
    [
      'a power curve that turns back',
      ['machine', 'source', 'powerCurve'],
      [
        [0.5, 0.2],
        [0.2, 0.8],
      ],
      'machine.source.powerCurve: must be points whose first values rise',
    ],
    [
      'a point outside',
      ['picture', 'tone', 'curve'],
      [[0, 1.5]],
      'picture.tone.curve[0][1]: must be a number from 0 to 1, got 1.5',
    ],
  ];
  test.each(cases)('%s', (_, path, value, message) => {
    const problems = problemsOf(changed(path, value));
    expect(problems).toHaveLength(1);
    expect(problems[0].startsWith(message)).toBe(true);
  });

  test('a colour of two numbers, or of four', () => {
    for (const lab of [
      [50, 0],
      [50, 0, 0, 0],
    ]) {
      const problems = problemsOf(changed(['slab', 'wood', 'colorLab'], lab));
      expect(problems.length).toBeGreaterThan(0);
      expect(problems.every((problem) => problem.startsWith('slab.wood.colorLab'))).toBe(true);
    }
  });

  test('everything at once', () => {
    const piece = changed(['slab', 'widthMm'], 4);
    (piece['machine'] as Record<string, unknown>)['name'] = 7;
    expect(problemsOf(piece)).toEqual([
      'slab.widthMm: must be a number from 5 to 3000, got 4',
      'machine.name: must be of type string, got 7',
    ]);
    expect(() => checkPiece(piece)).toThrow(
      'slab.widthMm: must be a number from 5 to 3000, got 4; machine.name: must be of type string, got 7',
    );
  });

  test('a long value is cut short', () => {
    const [problem] = problemsOf(changed(['slab', 'shape'], 'x'.repeat(500)));
    expect(problem.length).toBeLessThan(120);
    expect(problem).toContain('…');
  });

  test('a field called __proto__ is unknown and harmless', () => {
    const text = JSON.stringify(fresh()).replace('{', '{"__proto__": {"polluted": 1}, ');
    expect(() => parsePiece(text)).toThrow(PieceError);
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  });
});

describe('what is no piece at all', () => {
  test.each([null, 5, 'piece', [], {}, { format: 'other' }, { format: 1 }])('%j', (json) => {
    expect(problemsOf(json)).toEqual(['this is not a Foreburn piece: it lacks "format": "foreburn"']);
  });

  test.each(['', '{', '{"format": "foreburn", "version": 1,', 'ÿØÿà', 'null,'])('damaged JSON: %j', (text) => {
    expect(() => parsePiece(text)).toThrow(/^the piece is damaged: its JSON cannot be read \(.+\)$/);
  });

  test('a newer version says to update', () => {
    expect(problemsOf(changed(['version'], PIECE_VERSION + 1))).toEqual([
      `the piece was saved by a newer Foreburn (version ${PIECE_VERSION + 1}, this one reads up to ${PIECE_VERSION}); update Foreburn to open it`,
    ]);
    // Even if the newer one has fields that this one does not know.
    expect(problemsOf({ ...changed(['version'], 99), more: 1 })[0]).toContain('newer Foreburn (version 99');
  });

  test.each([0, -1, 1.5, '1', null, undefined, Number.NaN])('version %s', (version) => {
    const [problem, ...rest] = problemsOf(changed(['version'], version));
    expect(problem).toMatch(/^version: must be a whole number from 1 to \d+, got /);
    expect(rest).toEqual([]);
  });
});

describe('migration', () => {
  const steps = {
    1: (piece: PieceJson): PieceJson => ({ ...piece, feed: (piece['speed'] as number) / 60 }),
    2: (piece: PieceJson): PieceJson => {
      const { speed: _, ...rest } = piece;
      return { ...rest, coats: [piece['coat']] };
    },
  };

  test('takes the steps in order and sets the version after each', () => {
    const old = { version: 1, speed: 6000, coat: 'peat' };
    expect(migratePiece(old, 1, 3, steps)).toEqual({ version: 3, coat: 'peat', feed: 100, coats: ['peat'] });
    expect(migratePiece(old, 1, 2, steps)).toEqual({ version: 2, speed: 6000, coat: 'peat', feed: 100 });
    expect(migratePiece({ version: 2, coat: 'peat' }, 2, 3, steps)).toEqual({
      version: 3,
      coat: 'peat',
      coats: ['peat'],
    });
  });

  test('leaves the old piece alone, and one that is up to date as it is', () => {
    const old = Object.freeze({ version: 1, speed: 6000, coat: 'peat' });
    migratePiece(old, 1, 3, steps);
    expect(old).toEqual({ version: 1, speed: 6000, coat: 'peat' });
    expect(migratePiece(old, 3, 3, steps)).toBe(old);
  });

  test('a missing step is told', () => {
    expect(() => migratePiece({}, 1, 4, steps)).toThrow('there is no step from version 3 of the piece file to 4');
  });

  test('a step cannot keep the old version by mistake', () => {
    expect(migratePiece({ version: 1 }, 1, 2, { 1: (piece) => piece })).toEqual({ version: 2 });
  });
});
