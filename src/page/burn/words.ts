/** Numbers as the page says them. */
export function percent(share: number): string {
  const value = 100 * share;
  if (value > 0 && value < 0.1) return 'under 0.1 %';
  return `${value.toFixed(value >= 99.95 || value === 0 ? 0 : 1)} %`;
}

export function duration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  if (minutes < 1) return `${Math.round(seconds)} s`;
  const hours = Math.floor(minutes / 60);
  return hours > 0 ? `${hours} h ${String(minutes - 60 * hours).padStart(2, '0')} min` : `${minutes} min`;
}

export const powers = (light: number, dark: number): string => `${trim(100 * light)} / ${trim(100 * dark)} %`;

const trim = (value: number): string => String(Math.round(10 * value) / 10);
