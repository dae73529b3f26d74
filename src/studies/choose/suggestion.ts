import type { Pass, Piece, Tone } from '../../piece/schema.ts';
import type { Outcome } from './outcome.ts';

/** What keeps a suggestion from being better still. */
export type Limit = 'clearing' | 'scorch' | 'full-power' | 'top-feed' | 'finest-rows';

/** Why it is among the suggestions. */
export type Role = 'best' | 'quickest' | 'finest' | 'safest' | 'between';

/** What the judge says of a suggestion, burned on the picture's own dots. Shares 0–1. */
export interface Checked {
  readonly minutes: number;
  readonly rows: number;
  /** In the middle one of all cases; null where the picture has no light areas. */
  readonly unclearedShare: number | null;
  readonly scorchedShare: number;
}

export interface Suggestion {
  readonly id: string;
  readonly role: Role;
  readonly pass: Pass;
  /** How far the light areas are burned without gaps, 0–1; in the tone curve already. */
  readonly solid: number;
  /** Tone curve that belongs to it; null while it is not fitted yet. */
  readonly curve: Tone['curve'] | null;
  readonly outcome: Outcome;
  /** Share of drawn pieces whose light areas clear (null without any), and of those that stay unscorched; null until they are drawn. */
  readonly odds: { readonly clears: number | null; readonly unscorched: number; readonly draws: number } | null;
  readonly checked: Checked | null;
  readonly limits: readonly Limit[];
}

/** Why nothing works. */
export type Obstacle = 'coats-alike' | 'too-weak' | 'scorches' | 'unsure' | 'no-mark';

export interface ChooseResult {
  /** By minutes, rising; empty where nothing works. */
  readonly suggestions: readonly Suggestion[];
  readonly obstacle: Obstacle | null;
  /** Where nothing works: what comes nearest to it. */
  readonly nearest: Suggestion | null;
  /** Everything that was looked at and keeps the limits, for the picture of minutes against quality. */
  readonly seen: readonly { readonly minutes: number; readonly qualityLossL: number; readonly front: boolean }[];
  readonly evaluated: number;
  /** False while the search goes on. */
  readonly final: boolean;
  /** False where burning darkens. */
  readonly lightens: boolean;
}

/** Minutes of a suggestion, by its proof if there is one. */
export const minutesOf = ({ checked, outcome }: Suggestion): number => checked?.minutes ?? outcome.minutes;

/** The piece as it is burned with chosen settings; exposure, contrast and unsharp mask are the maker's. */
export const withSettings = (piece: Piece, pass: Pass, curve: Tone['curve'] | null): Piece => ({
  ...piece,
  passes: [pass],
  picture: curve ? { ...piece.picture, tone: { ...piece.picture.tone, gamma: 1, curve } } : piece.picture,
});
