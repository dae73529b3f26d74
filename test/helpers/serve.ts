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

/**
 * Serves the built page on a free port of this machine, as `npm start` does. `meddle` may put faults into what is served.
 * @throws Error if it has not been built.
 */
export async function serveBuiltPage(meddle: Meddle = () => null): Promise<Served> {
  if (!existsSync('dist/page/index.html')) throw new Error('dist/page is missing: run "npm run build" first');
  const server = await preview({
    preview: { port: 0, host: '127.0.0.1', open: false },
    logLevel: 'error',
    plugins: [meddling(meddle)],
  });
  const { port } = server.httpServer.address() as AddressInfo;
  return { url: `http://127.0.0.1:${port}/`, close: () => server.close() };
}

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
};

/** Serves the built page as the plainest of servers would: without a header that protects it. */
export async function serveBare(): Promise<Served> {
  const server = createPlainServer(({ url = '/' }, response) => {
    const { pathname } = new URL(url, 'http://localhost');
    const file = join('dist/page', pathname === '/' ? 'index.html' : pathname);
    if (!existsSync(file)) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { 'Content-Type': TYPES[extname(file)] ?? 'application/octet-stream' });
    response.end(readFileSync(file));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://127.0.0.1:${port}/`,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
}

function meddling(meddle: Meddle): Plugin {
  return {
    name: 'meddling',
    configurePreviewServer(server) {
      server.middlewares.use(({ url = '/' }, response, next) => {
        const { pathname } = new URL(url, 'http://localhost');
        const instead = meddle(pathname, () => readFileSync(`dist/page${pathname}`, 'utf8'));
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

/** Serves the sources, for pages that only tests have. */
export async function serveSources(): Promise<Served> {
  const server = await createServer({
    server: { port: 0, host: '127.0.0.1', open: false, hmr: false },
    logLevel: 'error',
  });
  await server.listen();
  const address = server.httpServer?.address() as AddressInfo | undefined;
  if (!address) throw new Error('the server of the sources did not start');
  return { url: `http://127.0.0.1:${address.port}/`, close: () => server.close() };
}
