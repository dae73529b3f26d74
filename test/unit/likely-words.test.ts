import { expect, test } from 'vitest';
import { likelyWords } from '../../src/studies/diagnose/finding.ts';

test('likely values are a range with one unit, and nothing where they read the same', () => {
  expect(likelyWords('0 %', '38 %')).toBe('likely 0–38 %');
  expect(likelyWords('0.01 µm', '2.30 µm')).toBe('likely 0.01–2.30 µm');
  expect(likelyWords('0.0', '1.2')).toBe('likely 0.0–1.2');
  expect(likelyWords('0 %', '0 %')).toBe('');
  expect(likelyWords('under 0.1 %', '3 %')).toBe('likely up to 3 %');
});
