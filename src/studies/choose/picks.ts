import { paretoFront, spreadPicks } from './front.ts';
import { costOf, marginOf, type Outcome, violationOf, type Wishes } from './outcome.ts';
import type { Role } from './suggestion.ts';

/** Suggestions at most. */
export const MOST_SUGGESTIONS = 4;

/** The wishes, and each of them leaning towards one side: what else is worth a look. */
export const leanings = (wishes: Wishes): Record<Exclude<Role, 'between'>, Wishes> => ({
  best: wishes,
  quickest: { ...wishes, minutes: 4 * wishes.minutes + 150 },
  finest: { ...wishes, quality: 4 * wishes.quality + 150 },
  safest: { ...wishes, safety: 4 * wishes.safety + 100 },
});

/** A handful of trade-offs among outcomes that keep the limits, by minutes rising, each with why it is there. */
export function pickTradeOffs<Item extends { readonly outcome: Outcome }>(
  items: readonly Item[],
  wishes: Wishes,
  most = MOST_SUGGESTIONS,
): { readonly item: Item; readonly role: Role }[] {
  const kept = items.filter(({ outcome }) => violationOf(outcome) === 0);
  if (kept.length === 0) return [];
  const taken: Item[] = [];
  for (const leaning of Object.values(leanings(wishes))) {
    const next = kept.reduce((a, b) => (costOf(b.outcome, leaning) < costOf(a.outcome, leaning) ? b : a));
    if (taken.length < most && !taken.some(({ outcome }) => alike(outcome, next.outcome))) taken.push(next);
  }
  const [best] = taken;
  const respects = [
    ({ outcome }: Item) => Math.log(outcome.minutes) / MINUTES_APART,
    ({ outcome }: Item) => outcome.qualityLossL / QUALITY_APART_L,
  ] as const;
  const front = paretoFront(kept, respects[0], respects[1]);
  const candidates = [...new Set([...front, ...taken])].sort((a, b) => a.outcome.minutes - b.outcome.minutes);
  const picked = spreadPicks(candidates, respects, most, taken);
  const useful = picked.filter((item) => item === best || !picked.some((other) => beats(other.outcome, item.outcome)));
  const least = (of: (outcome: Outcome) => number) => useful.reduce((a, b) => (of(b.outcome) < of(a.outcome) ? b : a));
  const roles: readonly (readonly [Item, Role])[] = [
    [best, 'best'],
    [least(({ minutes }) => minutes), 'quickest'],
    [least(({ qualityLossL }) => qualityLossL), 'finest'],
    [least((outcome) => -marginOf(outcome)), 'safest'],
  ];
  return useful.map((item) => ({ item, role: roles.find(([one]) => one === item)?.[1] ?? 'between' }));
}

/** Nothing speaks for the second: longer, worse and no safer. */
const beats = (a: Outcome, b: Outcome): boolean =>
  a !== b && a.minutes <= b.minutes && a.qualityLossL <= b.qualityLossL && marginOf(a) > marginOf(b) - 0.1;

/** Differences that make two worth showing: of the minutes' logarithm, of quality in L*, of the margin in standard deviations. */
const MINUTES_APART = 0.12;
const QUALITY_APART_L = 0.5;
const MARGIN_APART = 0.4;

const alike = (a: Outcome, b: Outcome): boolean =>
  Math.hypot(Math.log(a.minutes / b.minutes) / MINUTES_APART, (a.qualityLossL - b.qualityLossL) / QUALITY_APART_L) <
    1 && Math.abs(marginOf(a) - marginOf(b)) < MARGIN_APART;
