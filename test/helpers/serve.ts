import { existsSync } from 'node:fs';
import type { AddressInfo } from 'node:net';
import { createServer, preview } from 'vite';

export interface Served {
  readonly url: string;
  close(): Promise<void>;
}

/**
 * Serves the built page on a free port of this machine.
 * @throws Error if it has not been built.
 */
export async function serveBuiltPage(): Promise<Served> {
  if (!existsSync('dist/page/index.html')) throw new Error('dist/page is missing: run "npm run build" first');
  const server = await preview({ preview: { port: 0, host: '127.0.0.1', open: false }, logLevel: 'error' });
  const { port } = server.httpServer.address() as AddressInfo;
  return { url: `http://127.0.0.1:${port}/`, close: () => server.close() };
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
