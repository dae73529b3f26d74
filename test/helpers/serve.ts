import { existsSync, readFileSync } from 'node:fs';
import { createServer as createPlainServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { extname, join } from 'node:path';
import { createServer, type Plugin, preview } from 'vite';

export interface Served {
  readonly url: string;
  close(): Promise<void>;
}

/** Takes a request away from the server: the text to send instead of the file, or a status without one. */
export type Meddle = (path: string, text: () => string) => string | number | null;

/** The built page as it is served; what is set holds from the next request on. */
export interface BuiltPage extends Served {
  /** May put faults into what is served. */
  meddle: Meddle;
  /** Served as the demo piece; null for the one that was built. */
  demo: Uint8Array | null;
}

/**
 * Serves the built page on a free port of this machine, as `npm start` does.
 * @throws Error if it has not been built.
 */
export async function serveBuiltPage(): Promise<BuiltPage> {
  if (!existsSync('dist/page/index.html')) throw new Error('dist/page is missing: run "npm run build" first');
  const served = { meddle: (() => null) as Meddle, demo: null as Uint8Array | null };
  const server = await preview({
    preview: { port: 0, host: '127.0.0.1', open: false },
    logLevel: 'error',
    plugins: [meddling(served)],
  });
  const { port } = server.httpServer.address() as AddressInfo;
  return Object.assign(served, { url: `http://127.0.0.1:${port}/`, close: () => server.close() });
}

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
};

/** Serves the built page as the plainest of servers would: without a header that protects it. `demo`: served as the demo piece. */
export async function serveBare(demo: Uint8Array): Promise<Served> {
  const server = createPlainServer(({ url = '/' }, response) => {
    const { pathname } = new URL(url, 'http://localhost');
    const file = join('dist/page', pathname === '/' ? 'index.html' : pathname);
    if (!existsSync(file)) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { 'Content-Type': TYPES[extname(file)] ?? 'application/octet-stream' });
    response.end(isDemo(pathname) ? demo : readFileSync(file));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}/`,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

const isDemo = (path: string): boolean => /^\/demo\/[^/]+\.foreburn$/.test(path);

function meddling(served: { readonly meddle: Meddle; readonly demo: Uint8Array | null }): Plugin {
  return {
    name: 'meddling',
    configurePreviewServer(server) {
      server.middlewares.use(({ url = '/' }, response, next) => {
        const { pathname } = new URL(url, 'http://localhost');
        if (served.demo && isDemo(pathname)) {
          response.setHeader('Content-Type', 'application/octet-stream');
          response.end(served.demo);
          return;
        }
        const instead = served.meddle(pathname, () => readFileSync(`dist/page${pathname}`, 'utf8'));
        if (instead === null) {
          next();
          return;
        }
        response.statusCode = typeof instead === 'number' ? instead : 200;
        response.setHeader('Content-Type', 'text/javascript');
        response.end(typeof instead === 'number' ? '' : instead);
      });
    },
  };
}

/** Serves the sources, for pages that only tests have. What those pages want is bundled at the start, not when the first of them asks. */
export async function serveSources(): Promise<Served> {
  const server = await createServer({
    server: { port: 0, host: '127.0.0.1', open: false, hmr: false },
    optimizeDeps: { entries: ['test/*/{harness,color-harness}/index.html'] },
    logLevel: 'error',
  });
  await server.listen();
  const address = server.httpServer?.address() as AddressInfo | undefined;
  if (!address) throw new Error('the server of the sources did not start');
  return { url: `http://127.0.0.1:${address.port}/`, close: () => server.close() };
}
