import { expect, test } from 'vitest';
import { isMark } from '../../src/base/maker.ts';

test('only a PNG of a sensible size gets onto papers as a mark', () => {
  expect(isMark('data:image/png;base64,iVBORw0KGgo=')).toBe(true);
  expect(isMark('data:image/svg+xml;base64,PHN2Zz4=')).toBe(false);
  expect(isMark('data:image/png;base64,AA" onload="x')).toBe(false);
  expect(isMark('https://example.org/mark.png')).toBe(false);
  expect(isMark(`data:image/png;base64,${'A'.repeat(900_000)}`)).toBe(false);
  expect(isMark(null)).toBe(false);
});
