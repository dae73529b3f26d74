import { expect, test } from 'vitest';
import { dayNumber, dayOf, isDay, weekdayOf } from '../../src/base/day.ts';

test('days follow one another as the language’s own calendar has them', () => {
  const first = dayNumber('1899-12-25');
  const start = Date.parse('1899-12-25T00:00:00Z');
  for (let i = 0; i < 150_000; i += 17) {
    const there = new Date(start + i * 86_400_000);
    const day = there.toISOString().slice(0, 10);
    expect(dayOf(first + i)).toBe(day);
    expect(dayNumber(day)).toBe(first + i);
    expect(weekdayOf(first + i)).toBe((there.getUTCDay() + 6) % 7);
  }
});

test('only days that there are', () => {
  for (const day of ['2000-02-29', '2032-02-29', '2031-12-31', '0004-02-29']) expect(isDay(day)).toBe(true);
  for (const day of ['1900-02-29', '2031-02-29', '2031-13-01', '2031-00-10', '2031-04-31', '2.5.2031', ''])
    expect(isDay(day)).toBe(false);
});
