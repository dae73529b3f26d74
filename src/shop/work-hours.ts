import { weekdayOf } from '../base/day.ts';

export const MINUTES_A_DAY = 24 * 60;

/** Days that are looked through for room: more than any order waits. */
const MOST_DAYS = 10_000;

/** The hours in which work is done, in minutes that count on through all days (day number times 1440). */
export interface Calendar {
  /** The most that can be done in one go. */
  readonly longestMinutes: number;
  /** When something that takes so long can begin, at the earliest at `from`, and be done before the day's end; infinite where never. */
  fits(from: number, minutes: number): number;
}

export function createCalendar(hours: readonly number[], beginMinute: number): Calendar {
  const longestMinutes = 60 * Math.max(...hours);
  return {
    longestMinutes,
    fits(from, minutes) {
      if (minutes > longestMinutes + 1e-9) return Number.POSITIVE_INFINITY;
      const first = Math.floor(from / MINUTES_A_DAY);
      for (let day = first; day < first + MOST_DAYS; day++) {
        const given = 60 * hours[weekdayOf(day)];
        const begin = day * MINUTES_A_DAY + beginMinute;
        const start = Math.max(from, begin);
        if (given > 0 && start + minutes <= begin + given + 1e-9) return start;
      }
      return Number.POSITIVE_INFINITY;
    },
  };
}

/** Minutes as they are said; what is begun counts. */
export function hourWords(minutes: number): string {
  const whole = Math.ceil(minutes - 1e-9);
  return whole < 60 ? `${whole} min` : `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, '0')} min`;
}
