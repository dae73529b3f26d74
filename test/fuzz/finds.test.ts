import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { expect, test } from 'vitest';
import { FORMATS } from './formats/all.ts';
import { judge } from './judge.ts';

/** What campaigns have found, each under the name of its format and of what was wrong with the answer. */
const FOLDER = resolve(import.meta.dirname, '../fixtures/input');
const names = Object.keys(FORMATS).sort((a, b) => b.length - a.length);

test.each(readdirSync(FOLDER))('%s is answered', async (file) => {
  const format = names.find((name) => file.startsWith(`${name}-`));
  expect(format, `${file} begins with a format’s name`).toBeDefined();
  const bytes = new Uint8Array(readFileSync(join(FOLDER, file)));
  expect(await judge(FORMATS[format!], { bytes, mustRefuse: file.includes('-refused-') })).toBeNull();
});
