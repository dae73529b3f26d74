import type { Browser } from 'playwright-core';
import { inject } from 'vitest';
import { launchChromium } from './chromium.ts';
import { type BuiltPage, serveBuiltPage } from './serve.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Where the sources are served. */
    readonly sources: string;
  }
}

/** What all files of browser tests that one process works through share; it goes with the process. */
let browser: Promise<Browser> | null = null;
let page: Promise<BuiltPage> | null = null;

export async function sharedChromium(): Promise<Browser> {
  if (browser && !(await browser).isConnected()) browser = null;
  browser ??= launchChromium();
  return browser;
}

export function sharedBuiltPage(): Promise<BuiltPage> {
  page ??= serveBuiltPage();
  return page;
}

/** One server for all processes: two would bundle what is imported into the same folder. */
export const sourcesUrl = (): string => inject('sources');
