import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

const WORKER = 'offline.js';

/** Writes the service worker that keeps every file of the built page, so that it opens and works without a network after one visit. */
export function offline(): Plugin {
  let publicDir = '';
  return {
    name: 'offline',
    apply: (config, { command }) => command === 'build' && !config.build?.ssr,
    configResolved(config) {
      publicDir = config.publicDir;
    },
    generateBundle: {
      order: 'post',
      handler(_, bundle) {
        const hash = createHash('sha256');
        const own = Object.values(bundle).map((part) => {
          hash.update(part.fileName).update(part.type === 'chunk' ? part.code : part.source);
          return part.fileName;
        });
        const others = readdirSync(publicDir, { recursive: true, withFileTypes: true })
          .filter((entry) => entry.isFile())
          .map((entry) => join(entry.parentPath, entry.name));
        for (const file of others) hash.update(readFileSync(file));
        const files = [...new Set([...own, 'index.html', ...others.map((file) => file.slice(publicDir.length + 1))])];
        const version = hash.digest('hex').slice(0, 12);
        this.emitFile({ type: 'asset', fileName: WORKER, source: workerText(version, files.toSorted()) });
      },
    },
  };
}

/**
 * All of a version comes together, and none of it is mixed with another: files are kept under the version's name, and a new version waits
 * until the page says so or all tabs are closed. Answers are kept with their headers, policies among them.
 */
const workerText = (version: string, files: readonly string[]): string => `const KEEP = 'foreburn-${version}';
const FILES = ${JSON.stringify(files)};
const whole = (path) => new URL(path, self.registration.scope).href;

self.addEventListener('install', (event) => {
  const fresh = FILES.map((file) => new Request(whole(file), { cache: 'reload' }));
  event.waitUntil(caches.open(KEEP).then((kept) => kept.addAll(fresh)));
});

self.addEventListener('activate', (event) => {
  const old = async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith('foreburn-') && name !== KEEP) await caches.delete(name);
    }
    await self.clients.claim();
  };
  event.waitUntil(old());
});

self.addEventListener('message', ({ data }) => {
  if (data === 'go on') self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || !url.href.startsWith(self.registration.scope)) return;
  url.search = '';
  url.hash = '';
  const wanted = url.href === self.registration.scope ? whole('index.html') : url.href;
  const answer = async () => (await (await caches.open(KEEP)).match(wanted, { ignoreVary: true })) ?? fetch(request);
  event.respondWith(answer());
});
`;
