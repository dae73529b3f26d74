import type { CardKind } from '../../../vision/card/card.ts';

export const KIND_LABELS: Readonly<Record<CardKind, string>> = {
  'step-wedge': 'Step wedge',
  swatch: 'Swatch card',
  lines: 'Line card',
  tones: 'Tone card',
  'second-pass': 'Second-pass card',
  'check-strip': 'Check strip',
};

export const KIND_NOTES: Readonly<Record<CardKind, string>> = {
  'step-wedge': 'Rising power at one feed: when the top coat shows, clears and scorches.',
  swatch: 'Power against feed: tells the threshold from the energy per depth.',
  lines: 'Single lines at rising power and focus: the spot, and how far back rows land off.',
  tones: 'Seventeen tones through the screen of your first pass.',
  'second-pass': 'A wedge over a weakly burned field: what a second pass still clears.',
  'check-strip': 'Eight patches in a minute: does an entry of the shelf still hold?',
};

export const KINDS = Object.keys(KIND_LABELS) as CardKind[];

/** Three figures, without zeros that say nothing. */
export const figures = (value: number): string => {
  const rounded = Number(value.toPrecision(3));
  return Math.abs(rounded) >= 1000 ? String(Math.round(rounded)) : String(rounded);
};

/** A standard deviation of a logarithm as ± per cent. */
export const plusMinus = (deviation: number): string => {
  const percent = 100 * (Math.exp(deviation) - 1);
  return `± ${percent < 10 ? percent.toFixed(1) : Math.round(percent)} %`;
};

/** How much of the spread a card is expected to take away, in words. */
export const worthWords = (keeps: number): string => {
  const taken = Math.round((100 * (1 - keeps)) / 5) * 5;
  return taken < 5 ? 'tells little that is not known' : `takes about ${taken} % off the likely error`;
};

export const today = (): string => {
  const now = new Date();
  const two = (value: number) => String(value).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
};
