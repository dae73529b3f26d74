import { execFile } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
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

/** Room for what a browser prints: the largest still as PNG in base64, bytes. */
const MOST_PRINTED = 1 << 27;
const ADDRESS = /data:image\/png;base64,([A-Za-z0-9+/=]+)/;

/**
 * Has a browser draw a still with software graphics: opens a page of `render/mockup/still-page.ts` and takes the picture from the document that is
 * left. Null if it cannot. The page needs nothing from outside.
 */
export async function drawStill(chromium: string, html: string): Promise<Uint8Array | null> {
  const folder = await mkdtemp(join(tmpdir(), 'foreburn-mockup-'));
  try {
    const page = join(folder, 'mockup.html');
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
      `--user-data-dir=${join(folder, 'profile')}`,
      '--dump-dom',
      pathToFileURL(page).href,
    ];
    const printed = await new Promise<string>((resolve) => {
      execFile(chromium, flags, { timeout: PATIENCE_MS, maxBuffer: MOST_PRINTED }, (_, out) => resolve(out));
    });
    const found = ADDRESS.exec(printed);
    return found && Buffer.from(found[1], 'base64');
  } finally {
    await rm(folder, { recursive: true, force: true, maxRetries: 5 }).catch(() => {});
  }
}
