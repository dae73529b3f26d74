import { describe, expect, it } from 'vitest';
import { pauseWords } from '../../src/page/render/mockup/BurnDialog.tsx';

const EFFECT = { colderK: 4.2, reachMm: 12, before: 0.04, after: 0.041, justAfter: 0.055, withoutThere: 0.04 };
const POINT = { pass: 0, minute: 20, lengthMin: 30 };

describe('what a stop does, in words', () => {
  it('tells heat, light areas there, and the whole', () => {
    expect(pauseWords({ ...POINT, effect: EFFECT })).toBe(
      'A stop of 30 min after minute 20: the first rows after it start 4.2 °C colder, over about 12 mm. ' +
        'In their light areas 5.5 % is left dark instead of 4.0 %. Over the whole picture it goes from 4.0 % to 4.1 %.',
    );
  });
  it('says so where it changes nothing', () => {
    expect(pauseWords({ ...POINT, effect: { ...EFFECT, colderK: 0 } })).toContain('changes nothing');
    expect(pauseWords({ ...POINT, effect: { ...EFFECT, justAfter: 0.04, after: 0.04 } })).toContain(
      'come out the same',
    );
  });
});
