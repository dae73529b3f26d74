import type { Plugin } from 'vite';
import { headersFor, PAGE_POLICY } from './page-policy.ts';

/** The page's policy: in the head of the built page, and with every file of it that is served here. */
export function doors(): Plugin {
  return {
    name: 'doors',
    transformIndexHtml: {
      order: 'post',
      // While it is worked on, the page reloads itself with inline programs.
      handler: (_, { bundle }) =>
        bundle && [
          {
            tag: 'meta',
            attrs: { 'http-equiv': 'Content-Security-Policy', content: PAGE_POLICY },
            injectTo: 'head-prepend',
          },
        ],
    },
    configurePreviewServer(server) {
      server.middlewares.use(({ url = '/' }, response, next) => {
        const { pathname } = new URL(url, 'http://localhost');
        for (const [name, value] of Object.entries(headersFor(pathname))) response.setHeader(name, value);
        next();
      });
    },
  };
}
