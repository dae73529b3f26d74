import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';

const root = resolve(import.meta.dirname, '../..');
const SRC = join(root, 'src');

/** Which layers a layer may import, and which packages; nothing else. Mirrors the table in DEVELOPERS.md. */
const RULES: Readonly<Record<string, { layers: readonly string[]; packages: readonly string[] }>> = {
  core: {
    layers: ['core'],
    packages: [
      'zod/mini',
      'fflate',
      'colorjs.io/fn',
      'earcut',
      'ml-matrix',
      'ndarray',
      'ndarray-lanczos',
      'pako',
      'uqr',
    ],
  },
  kernels: { layers: ['core', 'kernels'], packages: ['gpu.js'] },
  sim: { layers: ['core', 'kernels', 'sim'], packages: [] },
  view: { layers: ['core', 'view', 'client', 'shaders'], packages: ['react', 'three', '@react-three/fiber'] },
  client: { layers: ['core', 'client', 'shaders'], packages: ['webm-muxer'] },
  app: {
    layers: ['core', 'kernels', 'sim', 'view', 'client', 'app'],
    packages: [
      'react',
      'react-dom/client',
      'react-aria-components',
      'zustand',
      'zustand/middleware',
      'zustand/react/shallow',
      'zundo',
      'idb',
      'zod/mini',
      'fast-png',
      '@noble/hashes/sha2.js',
      'pdfmake/build/pdfmake.min.js',
      'pdfmake/fonts/Roboto/Roboto-Medium.ttf?url',
      'pdfmake/fonts/Roboto/Roboto-Regular.ttf?url',
      '@fontsource-variable/fraunces/index.css',
      '@fontsource-variable/public-sans/index.css',
    ],
  },
  cli: { layers: ['core', 'kernels', 'sim', 'client', 'cli'], packages: ['sharp', 'pdfmake'] },
  build: { layers: ['core', 'build'], packages: ['vite'] },
};

/** Layers that run in Node only. */
const NODE_LAYERS = ['cli', 'build'];

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

const layerOf = (path: string): string => {
  const [first, second] = relative(root, path).split('/');
  return first === 'src' ? second : first;
};

describe('layers', () => {
  for (const [layer, { layers, packages }] of Object.entries(RULES)) {
    test(`${layer} imports only what the table lists`, () => {
      const faults: string[] = [];
      for (const file of filesBelow(join(SRC, layer))) {
        for (const name of importsOf(file)) {
          const where = relative(root, file);
          if (name.startsWith('.')) {
            const target = layerOf(resolve(dirname(file), name));
            if (!layers.includes(target)) faults.push(`${where} imports ${name} (${target})`);
          } else if (!packages.includes(name) && !(NODE_LAYERS.includes(layer) && name.startsWith('node:'))) {
            faults.push(`${where} imports ${name}`);
          }
        }
      }
      expect(faults).toEqual([]);
    });
  }

  test('the reader of imports sees every form', () => {
    const faults = importsOf(join(SRC, 'burn/kernel/gpu-js.ts'));
    expect(faults).toContain('gpu.js');
    expect(faults).toContain('./burn.kernel.ts?kernel');
    expect(importsOf(join(SRC, 'page/burn/proof-client.ts'))).toContain('./worker/proof-worker.ts');
  });

  test('the schema library is taken where it is told to build no functions from text', () => {
    const files = filesBelow(SRC).filter((file) => importsOf(file).includes('zod/mini'));
    expect(files.map((file) => relative(root, file))).toEqual(['src/base/zod.ts']);
  });

  test('workers are started by what notices that they die, and by nobody else', () => {
    const files = filesBelow(join(SRC, 'app')).filter((file) => /\bnew Worker\(/.test(readFileSync(file, 'utf8')));
    const bare = files.filter((file) => !/openWorker\(\s*\(\) => new Worker\(/.test(readFileSync(file, 'utf8')));
    expect(files.length).toBeGreaterThan(6);
    expect(bare).toEqual([]);
  });

  test('nothing on the page that may go wrong later is thrown away with `void`', () => {
    const thrown = filesBelow(join(SRC, 'app')).flatMap((file) =>
      readFileSync(file, 'utf8')
        .split('\n')
        .filter(
          (line) => /(?:^|[^:>\w] |=> |\()void (?!main\()[a-z][\w.]*\(/.test(line) || /\bvoid import\(/.test(line),
        )
        .map((line) => `${relative(root, file)}: ${line.trim()}`),
    );
    expect(thrown).toEqual([]);
  });

  test('gpu.js is loaded in one file only', () => {
    const files = filesBelow(SRC).filter((file) => importsOf(file).includes('gpu.js'));
    expect(files.map((file) => relative(root, file))).toEqual(['src/burn/kernel/gpu-js.ts']);
  });
});

describe('sizes', () => {
  test('no source file is longer than 400 lines', () => {
    const long = filesBelow(SRC)
      .map((file) => ({ file: relative(root, file), lines: readFileSync(file, 'utf8').split('\n').length }))
      .filter(({ lines }) => lines > 400);
    expect(long).toEqual([]);
  });

  test('the root holds only what belongs there', () => {
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
