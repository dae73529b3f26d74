import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const page = readFileSync('dist/page/licences.html', 'utf8');
const named = new Set([...page.matchAll(/<h2>([^<]+)<\/h2>/g)].map(([, title]) => title));
const names = new Set([...named].map((title) => title.replace(/ [\d.]+[\w.-]*$/, '')));

test('every package that the page asks for by itself is named with its licence', () => {
  const { dependencies } = JSON.parse(readFileSync('package.json', 'utf8')) as { dependencies: Record<string, string> };
  // Decode photographs and read lists on the command line only, which is not bundled.
  const onPage = Object.keys(dependencies).filter((name) => !['sharp', 'papaparse'].includes(name));
  expect(onPage.filter((name) => !names.has(name))).toEqual([]);
});

test('what those bring along is named too', () => {
  for (const name of ['react-aria', 'react-stately', 'scheduler', 'pdfkit', 'fontkit', 'iobuffer', 'iota-array']) {
    expect([...names]).toContain(name);
  }
});

test('each font in the build is named, with terms', () => {
  const fonts = readdirSync('dist/page/assets').filter((file) => file.endsWith('.ttf'));
  expect(fonts.length).toBeGreaterThan(0);
  for (const font of fonts) {
    const name = font.replace(/-[\w-]{8}\.ttf$/, '.ttf');
    const notice = page.split(`<h2>${name} (font)</h2>`)[1]?.split('<h2>')[0];
    expect(notice, name).toMatch(/SIL Open Font License, Version 1\.1|Apache License/);
  }
  expect(page).toContain('SIL OPEN FONT LICENSE Version 1.1');
});

test('no notice is empty, and none leaks where the page was built', () => {
  for (const part of page.split('<h2>').slice(1)) {
    expect(/<pre>([\s\S]*?)<\/pre>/.exec(part)?.[1].length).toBeGreaterThan(20);
  }
  expect(page).not.toContain(process.cwd());
  expect(page).not.toContain('node_modules');
});
