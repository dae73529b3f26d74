import react from '@vitejs/plugin-react';
import { build, type Plugin, transformWithOxc } from 'vite';
import { defineConfig } from 'vitest/config';
import { doors } from './src/build/doors.ts';
import { kernelToWgsl, type Syntax } from './src/build/kernel-wgsl.ts';
import { createNotices } from './src/build/notices.ts';
import { offline } from './src/build/offline.ts';

/** `import law from './burn.kernel.ts?wgsl'` yields `{ name: source }` for each top-level function of the file, in WGSL. */
function kernelSources(): Plugin {
  return {
    name: 'kernel-sources',
    enforce: 'pre',
    async transform(code, id) {
      if (!id.endsWith('.kernel.ts?wgsl')) return null;
      const stripped = await transformWithOxc(code, id.replace(/\?.*$/, ''), { lang: 'ts', sourcemap: false });
      const sources: Record<string, string> = {};
      for (const statement of this.parse(stripped.code).body) {
        const node = statement.type === 'ExportNamedDeclaration' ? statement.declaration : statement;
        if (node?.type === 'FunctionDeclaration' && node.id) {
          sources[node.id.name] = kernelToWgsl(node as unknown as Syntax);
        }
      }
      if (Object.keys(sources).length === 0) this.error('a kernel file must declare at least one top-level function');
      return { code: `export default ${JSON.stringify(sources)};`, map: null, moduleType: 'js' };
    },
  };
}

/**
 * `import program from './viewer.ts?bundle'` yields a whole program as the text of one script: what goes into a file that has to
 * work by itself.
 */
function bundledPrograms(): Plugin {
  return {
    name: 'bundled-programs',
    enforce: 'pre',
    async load(id) {
      if (!id.endsWith('.ts?bundle')) return null;
      const built = await build({
        configFile: false,
        logLevel: 'error',
        build: {
          write: false,
          target: 'es2022',
          lib: { entry: id.replace('?bundle', ''), formats: ['iife'], name: 'foreburn' },
        },
      });
      const [{ output }] = Array.isArray(built) ? built : [built as never];
      return { code: `export default ${JSON.stringify(output[0].code)};`, map: null, moduleType: 'js' };
    },
  };
}

const commandLine = {
  ssr: true,
  outDir: 'dist/cli',
  emptyOutDir: true,
  target: 'node20',
  rollupOptions: {
    input: {
      main: 'src/cli/main.ts',
      'swath-worker': 'src/cli/swath-worker.ts',
      bench: 'test/bench/bench.ts',
      'bench-choose': 'test/bench/choose-held-back.ts',
      'bench-questions': 'test/bench/questions.ts',
      'bench-dots': 'test/bench/dots/dots.ts',
      accuracy: 'test/bench/calibration/accuracy.ts',
      fuzz: 'test/fuzz/fuzz.ts',
      'paint-demo': 'test/fixtures/demo/paint.ts',
      'campaign-jobs': 'test/campaign/jobs.ts',
    },
    output: { entryFileNames: '[name].js', chunkFileNames: 'chunks/[name]-[hash].js' },
  },
};

const notices = createNotices();

export default defineConfig(({ mode }) => ({
  base: './',
  // Node takes its CommonJS form, which has no names to import.
  ssr: { noExternal: ['opentype.js'] },
  plugins: [kernelSources(), bundledPrograms(), doors(), notices.gather(), notices.write(), offline(), react()],
  worker: { format: 'es', plugins: () => [kernelSources(), bundledPrograms(), notices.gather()] },
  build:
    mode === 'cli'
      ? { ...commandLine, copyPublicDir: false }
      : {
          outDir: 'dist/page',
          emptyOutDir: true,
          target: 'es2023',
          chunkSizeWarningLimit: 1500,
          // Browsers keep what a preloaded module failed with and never ask for it again: of lazy parts only styles are fetched ahead.
          modulePreload: { resolveDependencies: (_file, parts) => parts.filter((part) => part.endsWith('.css')) },
        },
  preview: { port: 4380 },
  server: {
    port: 4380,
    headers: {
      'Content-Security-Policy': "frame-ancestors 'none'",
      'X-Content-Type-Options': 'nosniff',
      'Referrer-Policy': 'no-referrer',
    },
  },
  test: {
    // Every core: by default one is left free, which on two of them is half.
    maxWorkers: '100%',
    projects: [
      {
        extends: true,
        test: {
          name: 'node',
          environment: 'node',
          include: ['test/{unit,reference,property,parity,cli,arch,fuzz}/**/*.test.ts'],
          testTimeout: 60_000,
          hookTimeout: 60_000,
          // A process keeps what it has loaded and compiled from one file to the next.
          isolate: false,
        },
      },
      {
        extends: true,
        test: {
          name: 'built',
          environment: 'node',
          include: ['test/{browser,image,dist}/**/*.test.ts'],
          globalSetup: ['test/helpers/ensure-chromium.ts', 'test/helpers/sources-server.ts'],
          testTimeout: 300_000,
          hookTimeout: 120_000,
          // A process keeps its browser and its server from one file to the next.
          isolate: false,
        },
      },
    ],
  },
}));
