import { describe, expect, test } from 'vitest';
import { OutlineError } from '../../src/base/geometry/outline.ts';
import { cut, fitProblems, InputError, LIMITS } from '../../src/base/input-error.ts';
import { CliError, UsageError } from '../../src/cli/options.ts';

describe('a message to the maker', () => {
  test.each([InputError, CliError, UsageError, OutlineError])('%o fits, whatever it quotes', (Kind) => {
    const { message } = new Kind(`there is no command "${'x'.repeat(10_000)}"; "foreburn --help" lists them`);
    expect(message).toBe(`there is no command "${'x'.repeat(LIMITS.quoted - 1)}…"; "foreburn --help" lists them`);
    expect(new Kind('word '.repeat(1000)).message).toHaveLength(LIMITS.message);
    // A name stands at the beginning and the reason at the end: both stay.
    expect(new Kind(`/${'folder/'.repeat(90)}x.png: its name is too long`).message).toMatch(
      /^\/folder\/.*….*folder\/x\.png: its name is too long$/,
    );
  });

  test('holds nothing that a terminal acts upon; only the command line breaks lines', () => {
    expect(new InputError('“a\u001b[31m\nb” is none').message).toBe('“a\ufffd[31m\ufffdb” is none');
    expect(new CliError('a\nb\u0007').message).toBe('a\nb\ufffd');
  });

  test('is left alone where it is short, words between two quotations too', () => {
    const message =
      '"card" takes 4 points, each written X,Y as pixels of the photograph in their order round it, got 3 in "card 1,2"';
    expect(new InputError(message).message).toBe(message);
  });

  test('is cut between characters', () => expect(cut('ab😀', 4)).toBe('ab😀'));
  test('is cut before one that would be torn', () => expect(cut('ab😀cd', 4)).toBe('ab…'));
});

describe('a list of problems', () => {
  test('is told whole if it fits', () => expect(fitProblems(['a', 'b'])).toEqual(['a', 'b']));
  test('else as far as it fits, and how many more there are', () => {
    const told = fitProblems(Array.from({ length: 50 }, (_, i) => `place ${i}: must be a number, got nothing`));
    expect(told.at(-1)).toBe(`and ${50 - (told.length - 1)} more`);
    expect(told.join('; ').length).toBeLessThanOrEqual(LIMITS.message);
    expect(told.length).toBeGreaterThan(4);
  });
  test('names one at least', () =>
    expect(fitProblems(['x'.repeat(1000), 'y'])).toEqual([`${'x'.repeat(99)}…${'x'.repeat(200)}`, 'and 1 more']));
});
