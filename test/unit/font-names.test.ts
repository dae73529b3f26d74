import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { fontNames } from '../../src/build/notices.ts';

test('a font’s own file says whose it is and on what terms', () => {
  const names = fontNames(readFileSync('node_modules/pdfmake/fonts/Roboto/Roboto-Medium.ttf'));
  expect(names.copyright).toMatch(/^Copyright 2011 The Roboto Project Authors/);
  expect(names.license).toMatch(/SIL Open Font License, Version 1\.1/);
});

test('what is no font is refused', () => {
  expect(() => fontNames(new Uint8Array(64))).toThrow('does not say whose it is');
});
