import { execFile } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { pathToFileURL } from 'node:url';

const NAMES = ['chromium', 'chromium-browser', 'google-chrome', 'chrome'];
/** Longest that a still may take before it is given up, ms. */
const PATIENCE_MS = 180_000;

/** A Chromium: the one named in `FOREBURN_CHROMIUM`, else one on the path; null without. */
export function findChromium(environment: NodeJS.ProcessEnv): string | null {
  const named = environment['FOREBURN_CHROMIUM'];
  if (named === '') return null;
  const folders = (environment['PATH'] ?? '').split(delimiter).filter((folder) => folder !== '');
  const candidates = named ? [named] : NAMES.flatMap((name) => folders.map((folder) => join(folder, name)));
  return candidates.find(runs) ?? null;
}

function runs(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/**
 * Has a browser draw the still of a client's file with software graphics. Null if it cannot.
 * The page opens no connection: its own policy forbids it.
 */
export async function drawStill(
  chromium: string,
  html: string,
  { setting, width, height }: { setting: string; width: number; height: number },
): Promise<Uint8Array | null> {
  const folder = await mkdtemp(join(tmpdir(), 'foreburn-mockup-'));
  try {
    const page = join(folder, 'mockup.html');
    const picture = join(folder, 'mockup.png');
    await writeFile(page, html);
    const flags = [
      '--headless=new',
      '--no-sandbox',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
      '--ignore-gpu-blocklist',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
      '--hide-scrollbars',
      '--force-device-scale-factor=1',
      `--user-data-dir=${join(folder, 'profile')}`,
      `--window-size=${width},${height}`,
      '--virtual-time-budget=20000',
      `--screenshot=${picture}`,
      `${pathToFileURL(page).href}#still=${setting}&width=${width}&height=${height}`,
    ];
    await new Promise<void>((resolve) => {
      execFile(chromium, flags, { timeout: PATIENCE_MS, maxBuffer: 1 << 24 }, () => resolve());
    });
    return await readFile(picture).catch(() => null);
  } finally {
    await rm(folder, { recursive: true, force: true, maxRetries: 5 }).catch(() => {});
  }
}
