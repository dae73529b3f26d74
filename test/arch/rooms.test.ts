import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';

const root = resolve(import.meta.dirname, '../..');
const SRC = join(root, 'src');

const LETTERS = ['fraunces-latin-600', 'fraunces-latin-ext-600']
  .map((cut) => `@fontsource/fraunces/files/${cut}-normal.woff?inline`)
  .concat(
    ['public-sans-latin-400', 'public-sans-latin-600', 'public-sans-latin-ext-400', 'public-sans-latin-ext-600'].map(
      (cut) => `@fontsource/public-sans/files/${cut}-normal.woff?inline`,
    ),
  );

/** Fonts for lettering. */
const FONTS = [
  'fraunces/files/fraunces-latin-600',
  'fraunces/files/fraunces-latin-ext-600',
  'public-sans/files/public-sans-latin-600',
  'public-sans/files/public-sans-latin-ext-600',
  'eb-garamond/files/eb-garamond-latin-600',
  'eb-garamond/files/eb-garamond-latin-ext-600',
  'great-vibes/files/great-vibes-latin-400',
  'great-vibes/files/great-vibes-latin-ext-400',
].map((cut) => `@fontsource/${cut}-normal.woff?inline`);

/**
 * The rooms of `src` in the order in which they may import: a room sees those before it, less what `hides` names. The drawing in
 * DEVELOPERS.md shows the same table. `packages`: what else a room may import.
 */
const ROOMS: readonly { name: string; hides?: readonly string[]; packages: readonly string[] }[] = [
  { name: 'base', packages: ['zod/mini', 'colorjs.io/fn', 'ml-matrix', ...LETTERS] },
  { name: 'piece', packages: ['fflate'] },
  { name: 'image', packages: ['fflate', 'pako', 'ndarray', 'ndarray-lanczos', 'opentype.js', 'utif2', ...FONTS] },
  { name: 'physics', packages: [] },
  { name: 'burn', packages: [] },
  { name: 'vision', packages: ['fflate', 'ml-matrix', 'svg-pathdata'] },
  { name: 'studies', packages: ['ml-matrix'] },
  {
    name: 'render',
    hides: ['burn', 'vision', 'studies'],
    packages: ['react', 'earcut', 'webm-muxer'],
  },
  { name: 'outputs', packages: ['uqr', 'fflate'] },
  { name: 'shop', hides: ['render'], packages: [] },
  {
    name: 'page',
    packages: [
      'react',
      'react-dom',
      'react-dom/client',
      'react-aria-components',
      'zustand',
      'zustand/middleware',
      'zustand/react/shallow',
      'zundo',
      'idb',
      'fast-png',
      '@noble/hashes/sha2.js',
      'pdfmake/build/pdfmake.min.js',
      'pdfmake/fonts/Roboto/Roboto-Medium.ttf?url',
      'pdfmake/fonts/Roboto/Roboto-Regular.ttf?url',
      '@fontsource-variable/fraunces/index.css',
      '@fontsource-variable/public-sans/index.css',
    ],
  },
  { name: 'cli', hides: ['page'], packages: ['sharp', 'pdfmake', 'papaparse'] },
];

/** What the build adds to the page: vite.config.ts takes it, no room does. */
const BUILD = { name: 'build', sees: ['base'], packages: ['vite'] };

/** Rooms that run in Node only. */
const IN_NODE = ['cli', 'build'];

function filesBelow(folder: string): string[] {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && /\.tsx?$/.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name));
}

/** Everything a file imports: static, dynamic, re-exported, and worker URLs. */
function importsOf(file: string): string[] {
  const text = readFileSync(file, 'utf8').replace(/\/\*[\s\S]*?\*\/|^\s*\/\/.*$/gm, '');
  const pattern = /(?:\bfrom\s+|\bimport\s*\(\s*|^\s*import\s+|\bnew URL\(\s*)['"]([^'"]+)['"]/gm;
  return [...text.matchAll(pattern)].map((match) => match[1]);
}

const roomOf = (path: string): string => {
  const [first, second] = relative(root, path).split('/');
  return first === 'src' ? second : first;
};

/** Files of `src` with the files of `src` that they import, types included. */
const graph = new Map(
  filesBelow(SRC).map((file) => [
    relative(SRC, file),
    importsOf(file)
      .filter((name) => name.startsWith('.'))
      .map((name) => relative(SRC, resolve(dirname(file), name.replace(/\?.*$/, ''))))
      .filter((name) => !name.startsWith('..') && /\.tsx?$/.test(name)),
  ]),
);

/** Circles of a graph: what can be reached from itself, grouped (Tarjan, SIAM Journal on Computing 1(2), 1972). */
function circlesOf(edges: ReadonlyMap<string, Iterable<string>>): string[][] {
  const order = new Map<string, number>();
  const low = new Map<string, number>();
  const stack: string[] = [];
  const found: string[][] = [];
  const visit = (node: string): void => {
    order.set(node, order.size);
    low.set(node, order.get(node)!);
    stack.push(node);
    for (const next of edges.get(node) ?? []) {
      if (!order.has(next)) visit(next);
      if (stack.includes(next)) low.set(node, Math.min(low.get(node)!, low.get(next)!));
    }
    if (low.get(node) !== order.get(node)) return;
    const circle = stack.splice(stack.indexOf(node));
    if (circle.length > 1) found.push(circle.sort());
  };
  for (const node of edges.keys()) if (!order.has(node)) visit(node);
  return found;
}

describe('rooms', () => {
  const seenFrom = (name: string): readonly string[] => {
    const at = ROOMS.findIndex((room) => room.name === name);
    return ROOMS.slice(0, at + 1)
      .map((room) => room.name)
      .filter((other) => !ROOMS[at].hides?.includes(other));
  };

  for (const { name, sees, packages } of [...ROOMS.map((room) => ({ ...room, sees: seenFrom(room.name) })), BUILD]) {
    test(`${name} imports only what the table lists`, () => {
      const faults: string[] = [];
      for (const file of filesBelow(join(SRC, name))) {
        for (const imported of importsOf(file)) {
          const where = relative(root, file);
          if (imported.startsWith('.')) {
            const target = roomOf(resolve(dirname(file), imported));
            if (![...sees, name, ...(['render', 'page'].includes(name) ? ['shaders'] : [])].includes(target))
              faults.push(`${where} imports ${imported} (${target})`);
          } else if (!packages.includes(imported) && !(IN_NODE.includes(name) && imported.startsWith('node:'))) {
            faults.push(`${where} imports ${imported}`);
          }
        }
      }
      expect(faults).toEqual([]);
    });
  }

  test('every folder of src is a room or the build', () => {
    const folders = readdirSync(SRC, { withFileTypes: true }).filter((entry) => entry.isDirectory());
    expect(folders.map(({ name }) => name).sort()).toEqual([...ROOMS, BUILD].map(({ name }) => name).sort());
  });

  test('DEVELOPERS.md draws the rooms in this order', () => {
    const text = readFileSync(join(root, 'DEVELOPERS.md'), 'utf8');
    const drawn = text.slice(text.indexOf('## The rooms')).split('```')[1];
    expect(drawn.match(/^[a-z]+/gm)).toEqual(ROOMS.map(({ name }) => name));
  });

  test('every room has a front door of at most 30 lines', () => {
    for (const { name } of ROOMS) {
      const lines = readFileSync(join(SRC, name, 'README.md'), 'utf8')
        .trimEnd()
        .split('\n');
      expect(lines.length, name).toBeLessThanOrEqual(30);
      expect(lines[0], name).toBe(`# ${name}`);
    }
  });

  test('no files import one another in a circle', () => {
    expect(graph.size).toBeGreaterThan(200);
    expect(circlesOf(graph)).toEqual([]);
  });

  test('no folders of a room import one another in a circle', () => {
    const folders = new Map<string, Set<string>>();
    for (const [file, imported] of graph) {
      const seen = folders.get(dirname(file)) ?? new Set();
      folders.set(dirname(file), seen);
      for (const other of imported)
        if (dirname(other) !== dirname(file) && other.split('/')[0] === file.split('/')[0]) seen.add(dirname(other));
    }
    expect(circlesOf(folders)).toEqual([]);
  });

  test('a circle would be found', () => {
    const edges = new Map([
      ['a', ['b']],
      ['b', ['c']],
      ['c', ['b', 'd']],
      ['d', []],
    ]);
    expect(circlesOf(edges)).toEqual([['b', 'c']]);
  });

  test('the reader of imports sees every form', () => {
    const faults = importsOf(join(SRC, 'page/burn/card/card-session.ts'));
    expect(faults.some((from) => from.endsWith('burn.kernel.ts?wgsl'))).toBe(true);
    expect(importsOf(join(SRC, 'page/burn/proof-remote.ts'))).toContain('./worker/proof-worker.ts');
  });

  test('the schema library is taken where it is told to build no functions from text', () => {
    const files = filesBelow(SRC).filter((file) => importsOf(file).includes('zod/mini'));
    expect(files.map((file) => relative(root, file))).toEqual(['src/base/zod.ts']);
  });

  test('workers are started by what notices that they die, and by nobody else', () => {
    const files = filesBelow(join(SRC, 'page')).filter((file) => /\bnew Worker\(/.test(readFileSync(file, 'utf8')));
    const bare = files.filter((file) => !/openWorker\(\s*\(\) => new Worker\(/.test(readFileSync(file, 'utf8')));
    expect(files.length).toBeGreaterThan(6);
    expect(bare).toEqual([]);
  });

  test('nothing on the page that may go wrong later is thrown away with `void`', () => {
    const thrown = filesBelow(join(SRC, 'page')).flatMap((file) =>
      readFileSync(file, 'utf8')
        .split('\n')
        .filter(
          (line) => /(?:^|[^:>\w] |=> |\()void (?!main\()[a-z][\w.]*\(/.test(line) || /\bvoid import\(/.test(line),
        )
        .map((line) => `${relative(root, file)}: ${line.trim()}`),
    );
    expect(thrown).toEqual([]);
  });
});

describe('the root', () => {
  test('holds only what belongs there', () => {
    const expected = [
      'DEVELOPERS.md',
      'LICENSE',
      'README.md',
      'index.html',
      'package-lock.json',
      'package.json',
      'public',
      'shaders',
      'src',
      'test',
      'tsconfig.json',
      'vite.config.ts',
    ];
    const generated = ['node_modules', 'dist', 'coverage', 'out'];
    const found = readdirSync(root).filter((name) => !name.startsWith('.') && !generated.includes(name));
    expect(found.sort()).toEqual(expected);
  });
});
