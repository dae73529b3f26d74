let latest = 0;

/**
 * Begins to open something; what was begun before it and is not there yet must not take its place.
 * @returns whether it still is the last one begun.
 */
export function beginOpening(): () => boolean {
  latest++;
  const own = latest;
  return () => own === latest;
}
