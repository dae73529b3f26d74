/** Numbers as findings say them. */
export function percent(share: number): string {
  const value = 100 * share;
  if (value <= 0) return '0 %';
  if (value < 0.1) return 'under 0.1 %';
  return `${value < 9.95 ? value.toFixed(1) : Math.round(value)} %`;
}

/** At the head of a sentence. */
export const about = (share: number): string => (share < 0.001 ? 'Almost none' : `About ${percent(share)}`);

/** "63 of 100"; only what holds in every draw is told as all of them. */
export const of100 = (share: number): string =>
  `${share >= 1 ? 100 : share <= 0 ? 0 : Math.min(99, Math.max(1, Math.round(100 * share)))} of 100`;

/** "in 63 of 100 likely cases". */
export const inLikelyCases = (share: number): string =>
  share >= 1 ? 'in all likely cases' : share <= 0 ? 'in no likely case' : `in ${of100(share)} likely cases`;

export const points = (share: number): string => `${Math.round(100 * share)} %`;
export const mm = (value: number): string =>
  `${value < 0 ? '−' : ''}${Number(Math.abs(value).toFixed(Math.abs(value) < 1 ? 3 : 1))} mm`;
export const minutes = (seconds: number): string => `${Math.max(1, Math.round(seconds / 60))} min`;
