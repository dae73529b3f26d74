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
  const roles = new Map<Item, Role>();
  for (const [role, leaning] of Object.entries(leanings(wishes)) as [Role, Wishes][]) {
    const best = kept.reduce((a, b) => (costOf(b.outcome, leaning) < costOf(a.outcome, leaning) ? b : a));
    if (!roles.has(best) && ![...roles.keys()].some((other) => alike(other.outcome, best.outcome)))
      roles.set(best, role);
  }
  const respects = [
    ({ outcome }: Item) => Math.log(outcome.minutes) / MINUTES_APART,
    ({ outcome }: Item) => outcome.qualityLossL / QUALITY_APART_L,
  ] as const;
  const front = paretoFront(kept, respects[0], respects[1]);
  const candidates = [...new Set([...front, ...roles.keys()])].sort((a, b) => a.outcome.minutes - b.outcome.minutes);
  return spreadPicks(candidates, respects, most, [...roles.keys()].slice(0, most)).map((item) => ({
    item,
    role: roles.get(item) ?? 'between',
  }));
}

/** Differences that make two worth showing: of the minutes' logarithm, of quality in L*, of the margin in standard deviations. */
const MINUTES_APART = 0.12;
const QUALITY_APART_L = 0.5;
const MARGIN_APART = 0.4;

const alike = (a: Outcome, b: Outcome): boolean =>
  Math.hypot(Math.log(a.minutes / b.minutes) / MINUTES_APART, (a.qualityLossL - b.qualityLossL) / QUALITY_APART_L) <
    1 && Math.abs(marginOf(a) - marginOf(b)) < MARGIN_APART;
