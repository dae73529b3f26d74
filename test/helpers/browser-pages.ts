import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach } from 'vitest';
import type { BuiltPage, Meddle } from './serve.ts';
import { sharedBuiltPage, sharedChromium, sourcesUrl } from './shared.ts';
import { coarseDemo, smallDemo } from './small-demo.ts';

/** What pages open on: the demo piece, small, with few rows, or as it is, or a piece of the tests' own. */
type Demo = 'small' | 'coarse' | 'whole' | (() => Promise<Uint8Array>);

interface PagesOptions {
  /** For the name of the folder. */
  readonly name: string;
  /** The built page unless told otherwise. */
  readonly serve?: 'built' | 'sources';
  /** Puts faults into what is served. */
  readonly meddle?: Meddle;
  readonly context?: BrowserContextOptions;
  readonly demo?: Demo;
  /** Without the slab's drawing, which in software takes much of the time, where tests do not look at it; then what the page says of that is no fault. */
  readonly view?: boolean;
  /** Each test's page, before anything is loaded; all tests of a file have the same one if they share it. */
  readonly onPage: (page: Page) => void;
  /** A first visit: the page where a piece is begun, instead of the demo. */
  readonly firstVisit?: boolean;
  /** The page may keep itself for times without a network; else nothing stands between it and what is served. */
  readonly offline?: boolean;
  /** Tests go on in one page, each where the one before left it. */
  readonly together?: boolean;
}

export interface Pages {
  readonly url: string;
  /** For files of the tests; gone after the last of them. */
  readonly folder: string;
  /** What went wrong on the page, and what it asked for, since the test began. */
  readonly faults: string[];
  readonly requests: string[];
  /** What pages that are opened later in this test open on. */
  openOn(piece: Uint8Array): void;
}

/** Registers what a file of browser tests needs: a server, a Chromium, a folder, and a page of its own for every test. */
export function browserPages(options: PagesOptions): Pages {
  const {
    name,
    serve = 'built',
    meddle = () => null,
    context,
    demo = 'small',
    view = true,
    firstVisit = false,
    offline = false,
    together = false,
  } = options;
  const faults: string[] = [];
  const requests: string[] = [];
  let served: BuiltPage | null = null;
  let opened: BrowserContext | null = null;
  let folder = '';
  let piece: Uint8Array | null = null;

  async function open(): Promise<void> {
    opened = await (await sharedChromium()).newContext({ serviceWorkers: offline ? 'allow' : 'block', ...context });
    if (!view) await withoutSlabView(opened);
    if (!firstVisit) await askForDemo(opened);
    const page = await opened.newPage();
    const tell = (fault: string) => {
      if (view || !isViewFault(fault)) faults.push(fault);
    };
    page.on('pageerror', (error) => tell(error.message));
    page.on('console', (message) => message.type() === 'error' && tell(message.text()));
    page.on('request', (request) => requests.push(request.url()));
    options.onPage(page);
  }
  const close = async () => {
    await opened?.close();
    opened = null;
  };

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), `foreburn-${name}-`));
    if (serve === 'built') {
      served = await sharedBuiltPage();
      piece = await demoPiece(demo);
    }
    if (together) await open();
  });
  afterAll(async () => {
    await close();
    if (folder) rmSync(folder, { recursive: true, force: true });
    if (served) Object.assign(served, { meddle: () => null, demo: null });
  });
  beforeEach(async () => {
    faults.length = 0;
    requests.length = 0;
    if (served) Object.assign(served, { meddle, demo: piece });
    if (!together) await open();
  });
  afterEach(async () => {
    if (!together) await close();
  });
  return {
    get url() {
      return served?.url ?? sourcesUrl();
    },
    get folder() {
      return folder;
    },
    faults,
    requests,
    openOn(other) {
      if (served) served.demo = other;
    },
  };
}

async function demoPiece(demo: Demo): Promise<Uint8Array | null> {
  if (typeof demo === 'function') return demo();
  return { small: smallDemo, coarse: coarseDemo, whole: () => null }[demo]();
}

/** Opens the page by the address of the demo, which is shown where nothing is kept. */
export const askForDemo = (context: BrowserContext): Promise<unknown> =>
  context.addInitScript(() => {
    if (location.hash === '') history.replaceState(null, '', '#demo');
  });

/** Leaves the drawing of the slab away; the page says so and goes on. */
const withoutSlabView = (context: BrowserContext): Promise<unknown> =>
  context.addInitScript(() => {
    const { getContext } = HTMLCanvasElement.prototype;
    HTMLCanvasElement.prototype.getContext = function (this: HTMLCanvasElement, kind: string, ...rest: unknown[]) {
      return kind.startsWith('webgl') ? null : (getContext as (...all: unknown[]) => unknown).call(this, kind, ...rest);
    } as typeof getContext;
  });

/** A fault that follows from there being no view of the slab. */
const isViewFault = (fault: string): boolean => /WebGL/i.test(fault);
