/** Numbers as papers say them. */
export const percentWords = (share: number): string => `${Math.round(1000 * share) / 10} %`;

/** A time in hours and minutes. */
export function hours(seconds: number): string {
  const minutes = Math.max(1, Math.round(seconds / 60));
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')} min`;
}
