/** What a candidate for the settings comes to, by the quick model. Shares 0–1; lightness in L*. */
export interface Outcome {
  readonly minutes: number;
  /** What the picture loses, root of the sum of squares of the three that follow. */
  readonly qualityLossL: number;
  /** Tone error after the tone curve is fitted: L* wanted against predicted, root mean square over the picture, its film and what is not known. */
  readonly toneErrorL: number;
  /** Grain of the screen as seen at arm's length, and detail finer than rows and beam. */
  readonly grainL: number;
  readonly detailL: number;
  readonly unclearedShare: number;
  readonly scorchedShare: number;
  /**
   * How many standard deviations of what is not known stand between the settings and light areas that do not clear; null where nothing
   * is to be cleared. Likewise for scorch.
   */
  readonly clearsZ: number | null;
  readonly unscorchedZ: number;
}

/** What matters to the maker, each 0–100. */
export interface Wishes {
  readonly quality: number;
  readonly minutes: number;
  readonly safety: number;
}
export const EVEN_WISHES: Wishes = { quality: 50, minutes: 50, safety: 50 };

/** Odds with which light areas must clear and the rest stay unscorched. */
export const WANTED_ODDS = 0.95;
/** 95 % is 1.645 standard deviations; the rest allows for what the quick model leaves out. */
export const WANTED_Z = 1.7;
/** Beyond this many standard deviations the quick model cannot tell. */
export const MOST_Z = 3;

/** The nearer of the two limits, in standard deviations. */
export const marginOf = ({ clearsZ, unscorchedZ }: Pick<Outcome, 'clearsZ' | 'unscorchedZ'>): number =>
  Math.min(clearsZ ?? MOST_Z, unscorchedZ);

/** How far an outcome is from what it must keep, in standard deviations; 0 if it keeps it. */
export const violationOf = ({ clearsZ, unscorchedZ }: Pick<Outcome, 'clearsZ' | 'unscorchedZ'>): number =>
  Math.max(0, WANTED_Z - (clearsZ ?? MOST_Z)) + Math.max(0, WANTED_Z - unscorchedZ);

/** Losses of 10 L*, of four doublings of half an hour and of all the margin count the same (a choice of ours). */
const FULL_LOSS_L = 10;
const SHORT_MINUTES = 30;
const DOUBLINGS = 4;
const PENALTY = 10;

/** One number for a candidate: the smaller the better, above 0. What breaks a limit comes after everything that keeps it. */
export function costOf(outcome: Outcome, wishes: Wishes): number {
  const total = Math.max(1e-9, wishes.quality + wishes.minutes + wishes.safety);
  const quality = outcome.qualityLossL / FULL_LOSS_L;
  const minutes = Math.log2(1 + outcome.minutes / SHORT_MINUTES) / DOUBLINGS;
  const risk = (MOST_Z - marginOf(outcome)) / MOST_Z;
  const wished = (wishes.quality * quality + wishes.minutes * minutes + wishes.safety * risk) / total;
  return wished + PENALTY * violationOf(outcome);
}
