import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach } from 'vitest';
import { launchChromium } from './chromium.ts';
import type { Served } from './serve.ts';
import { smallDemo } from './small-demo.ts';

interface PagesOptions {
  /** For the name of the folder. */
  readonly name: string;
  readonly serve: () => Promise<Served>;
  readonly context?: BrowserContextOptions;
  /** Pages open on the demo piece at half its size unless told otherwise. */
  readonly demo?: 'half' | 'whole';
  /** Each test's page, before anything is loaded. */
  readonly onPage: (page: Page) => void;
}

export interface Pages {
  readonly url: string;
  /** For files of the tests; gone after the last of them. */
  readonly folder: string;
  /** What went wrong on the page, and what it asked for, since the test began. */
  readonly faults: string[];
  readonly requests: string[];
}

/** Registers what a file of browser tests needs: a server, a Chromium, a folder, and a page of its own for every test. */
export function browserPages({ name, serve, context, demo = 'half', onPage }: PagesOptions): Pages {
  const faults: string[] = [];
  const requests: string[] = [];
  let served: Served;
  let browser: Browser;
  let page: Page;
  let folder = '';
  const half = demo === 'half' ? smallDemo() : null;
  beforeAll(async () => {
    served = await serve();
    browser = await launchChromium();
    folder = mkdtempSync(join(tmpdir(), `foreburn-${name}-`));
  });
  afterAll(async () => {
    await browser?.close();
    await served?.close();
    if (folder) rmSync(folder, { recursive: true, force: true });
  });
  beforeEach(async () => {
    faults.length = 0;
    requests.length = 0;
    const opened = await browser.newContext(context);
    if (half) await opened.route('**/demo/*.foreburn', (route) => route.fulfill({ body: half }));
    page = await opened.newPage();
    page.on('pageerror', (error) => faults.push(error.message));
    page.on('console', (message) => message.type() === 'error' && faults.push(message.text()));
    page.on('request', (request) => requests.push(request.url()));
    onPage(page);
  });
  afterEach(async () => {
    await page.context().close();
  });
  return {
    get url() {
      return served.url;
    },
    get folder() {
      return folder;
    },
    faults,
    requests,
  };
}
