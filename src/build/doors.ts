import type { Plugin } from 'vite';

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

/**
 * What the page may load and run: its own files and nothing else, no inline program, no function from text. Built into the page
 * (vite.config.ts), sent by `npm start`, and to be sent by whatever serves it (DEVELOPERS.md).
 */

/**
 * Styles that the components put into the page by themselves (react-aria: `usePress`, `usePreventScroll`), by their hashes. Another
 * version may say something else: then the walk in test/browser/doors.test.ts fails.
 */
const COMPONENT_STYLES = [
  "'sha256-38RhXrc7EdReTKsOm23ZPOCUgniTUUcjky8QOOrQx6o='",
  "'sha256-gYiS/BvZvRcK27JIXTuwhZ3hs2+VJ1X+2gUlE+farlg='",
];

const PAGE = {
  'default-src': "'none'",
  'script-src': "'self'",
  'worker-src': "'self'",
  'style-src': `'self' ${COMPONENT_STYLES.join(' ')}`,
  'font-src': "'self'",
  'img-src': "'self' blob: data:",
  'connect-src': "'self'",
  'manifest-src': "'self'",
  'base-uri': "'none'",
  'form-action': "'none'",
};

/**
 * Workers whose program builds functions from text: ndarray (`image/resample.ts`) does. They see no document, and what they build
 * comes from these sources alone.
 */
const BUILDING_WORKERS = ['proof-worker', 'calibrate-worker'];

const text = (directives: Readonly<Record<string, string>>): string =>
  Object.entries(directives)
    .map(([name, sources]) => `${name} ${sources}`)
    .join('; ');

/** For the page's own head, where a policy cannot say who may frame the page. */
const PAGE_POLICY = text(PAGE);

/** What is sent with every file, by its path. */
function headersFor(path: string): Readonly<Record<string, string>> {
  const builds = BUILDING_WORKERS.some((name) => new RegExp(`/${name}-[\\w-]+\\.js$`).test(path));
  const scripts = builds ? { 'script-src': "'self' 'unsafe-eval'" } : {};
  return {
    'Content-Security-Policy': text({ ...PAGE, ...scripts, 'frame-ancestors': "'none'" }),
    'X-Content-Type-Options': 'nosniff',
    'Referrer-Policy': 'no-referrer',
  };
}
