import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type { Plugin } from 'vite';
import { escapeHtml } from '../base/escape-html.ts';

/** Packages that come as one file with what they depend on inside. */
const READY_MADE = ['pdfmake'];

const PAGE = 'licences.html';

interface Manifest {
  readonly name: string;
  readonly version: string;
  readonly license?: string;
  readonly author?: string | { readonly name?: string };
  readonly dependencies?: Readonly<Record<string, string>>;
}

interface Notice {
  readonly title: string;
  readonly text: string;
}

/**
 * Who made what the built page is made of, and on what terms: licences such as MIT, Apache 2.0 and the SIL Open Font License ask that
 * their text goes along. `gather` reads every build that goes into the page, its workers' too; `write` puts the page of notices
 * beside it.
 */
export function createNotices(): { readonly gather: () => Plugin; readonly write: () => Plugin } {
  const folders = new Set<string>();
  const fonts = new Set<string>();
  return {
    gather: () => ({
      name: 'gather-notices',
      generateBundle() {
        for (const id of this.getModuleIds()) {
          const file = id.split('?')[0].replace('\0', '');
          const folder = packageFolder(file);
          if (!folder) continue;
          folders.add(folder);
          if (/\.(ttf|otf)$/.test(file)) fonts.add(file);
        }
      },
    }),
    write: () => ({
      name: 'write-notices',
      apply: (config, { command }) => command === 'build' && !config.build?.ssr,
      generateBundle: {
        order: 'post',
        handler() {
          const packages = [...withInside(folders)].map(packageNotice);
          const letters = [...fonts].map(fontNotice);
          const notices = [...packages, ...letters].sort((a, b) => a.title.localeCompare(b.title, 'en'));
          this.emitFile({ type: 'asset', fileName: PAGE, source: noticesPage(notices) });
        },
      },
    }),
  };
}

/** The folder of the package that a file belongs to; null for files of ours. */
function packageFolder(file: string): string | null {
  const at = file.lastIndexOf('/node_modules/');
  if (at < 0) return null;
  const [scope, name] = file.slice(at + '/node_modules/'.length).split('/');
  return `${file.slice(0, at)}/node_modules/${scope.startsWith('@') ? `${scope}/${name}` : scope}`;
}

const manifestOf = (folder: string): Manifest => JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8'));

function withInside(folders: ReadonlySet<string>): Set<string> {
  const all = new Set(folders);
  const add = (folder: string): void => {
    for (const name of Object.keys(manifestOf(folder).dependencies ?? {})) {
      const found = findPackage(name, folder);
      if (!found || all.has(found)) continue;
      all.add(found);
      add(found);
    }
  };
  for (const folder of folders) if (READY_MADE.includes(manifestOf(folder).name)) add(folder);
  return all;
}

/** As Node looks for it: beside the package that asks, then further out. */
function findPackage(name: string, from: string): string | null {
  for (let folder = from; folder !== dirname(folder); folder = dirname(folder)) {
    const found = join(folder, 'node_modules', name);
    if (existsSync(join(found, 'package.json'))) return found;
  }
  return null;
}

function packageNotice(folder: string): Notice {
  const { name, version, license, author } = manifestOf(folder);
  const texts = readdirSync(folder).filter((file) => /^(licen[cs]e|copying|notice)/i.test(file));
  const by = typeof author === 'string' ? author : author?.name;
  const said = `${license ?? 'See below'}${by ? `, ${by}` : ''}. The package carries no text of its licence.`;
  return {
    title: `${name} ${version}`,
    text: texts.map((file) => readFileSync(join(folder, file), 'utf8').trim()).join('\n\n') || said,
  };
}

function fontNotice(file: string): Notice {
  const { copyright, version, license, licenseUrl } = fontNames(readFileSync(file));
  return {
    title: `${basename(file)} (font)`,
    text: [version, copyright, license, licenseUrl].filter(Boolean).join('\n'),
  };
}

const noticesPage = (notices: readonly Notice[]): string => `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Foreburn: licences</title>
</head>
<body>
<h1>Licences</h1>
<p>Foreburn is made with the work of others. Each part, with the terms on which it is used:</p>
${notices.map(({ title, text }) => `<h2>${escapeHtml(title)}</h2>\n<pre>${escapeHtml(text)}</pre>`).join('\n')}
</body>
</html>
`;

/** Names in a TrueType font (OpenType specification, table "name"): whose it is, and on what terms. */
interface FontNames {
  readonly copyright: string;
  readonly version: string;
  readonly license: string;
  readonly licenseUrl: string;
}

const COPYRIGHT = 0;

const VERSION = 5;

const LICENSE = 13;

const LICENSE_URL = 14;

const UNICODE_PLATFORMS = [0, 3];

/** @throws Error if the file has no such table. */
export function fontNames(bytes: Uint8Array): FontNames {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const tables = Array.from({ length: view.getUint16(4) }, (_, i) => 12 + 16 * i);
  const entry = tables.find((at) => String.fromCharCode(...bytes.subarray(at, at + 4)) === 'name');
  if (entry === undefined) throw new Error('the font does not say whose it is');
  const table = view.getUint32(entry + 8);
  const texts = table + view.getUint16(table + 4);
  const names = new Map<number, string>();
  for (let i = 0; i < view.getUint16(table + 2); i++) {
    const at = table + 6 + 12 * i;
    if (!UNICODE_PLATFORMS.includes(view.getUint16(at))) continue;
    const start = texts + view.getUint16(at + 10);
    const text = new TextDecoder('utf-16be').decode(bytes.subarray(start, start + view.getUint16(at + 8)));
    names.set(view.getUint16(at + 6), text);
  }
  const of = (id: number) => names.get(id) ?? '';
  return { copyright: of(COPYRIGHT), version: of(VERSION), license: of(LICENSE), licenseUrl: of(LICENSE_URL) };
}
