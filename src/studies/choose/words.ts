import type { Limit, Obstacle, Role, Suggestion } from './suggestion.ts';

const ROLE_WORDS: Readonly<Record<Role, string>> = {
  best: 'Comes nearest to what matters to you',
  quickest: 'The quickest that keeps the limits',
  finest: 'The truest tones and the finest detail',
  safest: 'The widest margin on both sides',
  between: 'A middle way',
};

const LIMIT_WORDS: Readonly<Record<Limit, string>> = {
  clearing: 'less power or a faster feed would too often leave thick places dark',
  scorch: 'more power would scorch the undercoat',
  'full-power': 'the source gives no more',
  'top-feed': 'the machine moves no faster',
  'finest-rows': 'closer rows would cost time and show nothing',
};

/** One sentence: why it is suggested and what holds it there. */
export function whyOf({ role, limits }: Pick<Suggestion, 'role' | 'limits'>): string {
  const held = limits.slice(0, 2).map((limit) => LIMIT_WORDS[limit]);
  return `${ROLE_WORDS[role]}${held.length > 0 ? `; ${held.join(', and ')}` : ''}.`;
}

const OBSTACLE_WORDS: Readonly<Record<Obstacle, string>> = {
  'coats-alike':
    'Burned and unburned places of this stack look alike, so no setting makes a picture; give the coats different lightness.',
  'too-weak':
    'Even full power at the slowest sensible feed does not take the top coat away: it is too thick, or the source too weak or too far from what this paint takes up. A thinner top coat helps most.',
  scorches:
    'Whatever clears the top coat scorches the undercoat. A thinner or more even top coat helps, or an undercoat that stands more.',
  unsure:
    'There are settings that work if all numbers are as given, but not in 95 of 100 cases for paint and beam as little known as these. Burn a test card and calibrate, or make the film more even.',
  'no-mark': 'Nothing within the machine’s reach leaves a mark dark enough to carry a picture.',
};
export const obstacleWords = (obstacle: Obstacle): string => OBSTACLE_WORDS[obstacle];
