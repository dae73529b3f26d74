import { accessSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { type Browser, chromium } from 'playwright-core';

/** WebGL 2 and WebGPU in software, so that pictures are the same on every machine, and no talking to the network. */
export const CHROMIUM_FLAGS = [
  '--no-sandbox',
  '--use-angle=swiftshader',
  '--enable-unsafe-swiftshader',
  '--enable-unsafe-webgpu',
  '--use-webgpu-adapter=swiftshader',
  '--ignore-gpu-blocklist',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
  '--no-first-run',
];

function isRunnable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/**
 * Path of a Chromium to test with: the one named by FOREBURN_CHROMIUM, then one on PATH, then Debian's, then the one that
 * playwright-core downloaded.
 * @throws Error if there is none, saying how to get one.
 */
export function findChromium(): string {
  const named = process.env['FOREBURN_CHROMIUM'];
  if (named) {
    if (isRunnable(named)) return named;
    throw new Error(`FOREBURN_CHROMIUM names ${named}, which cannot be run.`);
  }
  const folders = (process.env['PATH'] ?? '').split(delimiter).filter(Boolean);
  for (const name of ['chromium', 'chromium-browser', 'google-chrome']) {
    const found = folders.map((folder) => join(folder, name)).find(isRunnable);
    if (found) return found;
  }
  if (isRunnable('/usr/bin/chromium')) return '/usr/bin/chromium';
  const own = chromium.executablePath();
  if (own && existsSync(own)) return own;
  throw new Error(
    'No Chromium found. Install one (Debian: apt install chromium; elsewhere: npx playwright-core install chromium) or name one in FOREBURN_CHROMIUM.',
  );
}

export function launchChromium(): Promise<Browser> {
  return chromium.launch({ executablePath: findChromium(), headless: true, args: CHROMIUM_FLAGS });
}
