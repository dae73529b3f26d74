/**
 * Days of the calendar as ISO 8601 writes them (`2031-05-02`) and as Julian day numbers, which count on by one a day.
 * Source: H. F. Fliegel, T. C. Van Flandern, "A machine algorithm for processing calendar dates", Communications of the ACM 11(10), 657, 1968.
 */

/** Not a number for what does not look like a day. */
export function dayNumber(day: string): number {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(day)) return Number.NaN;
  const [year, month, date] = day.split('-').map(Number);
  const early = Math.trunc((month - 14) / 12);
  return (
    Math.trunc((1461 * (year + 4800 + early)) / 4) +
    Math.trunc((367 * (month - 2 - 12 * early)) / 12) -
    Math.trunc((3 * Math.trunc((year + 4900 + early) / 100)) / 4) +
    date -
    32075
  );
}

export function dayOf(number: number): string {
  let rest = number + 68569;
  const centuries = Math.trunc((4 * rest) / 146097);
  rest -= Math.trunc((146097 * centuries + 3) / 4);
  const years = Math.trunc((4000 * (rest + 1)) / 1461001);
  rest -= Math.trunc((1461 * years) / 4) - 31;
  const months = Math.trunc((80 * rest) / 2447);
  const date = rest - Math.trunc((2447 * months) / 80);
  const late = Math.trunc(months / 11);
  const year = 100 * (centuries - 49) + years + late;
  return [year, months + 2 - 12 * late, date].map((value, i) => String(value).padStart(i === 0 ? 4 : 2, '0')).join('-');
}

/** Whether the calendar has that day: `2031-02-30` is none. */
export const isDay = (text: string): boolean => {
  const number = dayNumber(text);
  return Number.isFinite(number) && dayOf(number) === text;
};

/** 0 for Monday to 6 for Sunday. */
export const weekdayOf = (number: number): number => number % 7;
