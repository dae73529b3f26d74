import type { Dice } from './dice.ts';
import { spoilBytes } from './spoil-bytes.ts';

type Container = Record<string, unknown> | unknown[];
/** Words that stand for what is written into the text later: numbers beyond all, and lists in lists, which would be too deep for a writer. */
const BEYOND = '(beyond)';
const DEEP = [5, 60, 70, 3000, 100_000].map((levels) => ({ word: `(${levels} deep)`, levels }));

/** A JSON document with something wrong in it: in its values mostly, sometimes in its text. */
export function spoilJson(text: string, dice: Dice): string {
  if (dice.chance(0.15)) return new TextDecoder().decode(spoilBytes(new TextEncoder().encode(text), dice));
  const root = JSON.parse(text) as Container;
  const times = dice.chance(0.7) ? 1 : 1 + dice.below(20);
  const once = onceLarge(dice);
  for (let i = 0; i < times; i++) spoilOne(root, dice, once);
  return DEEP.reduce(
    (json, { word, levels }) => json.replaceAll(`"${word}"`, '['.repeat(levels) + ']'.repeat(levels)),
    JSON.stringify(root).replaceAll(`"${BEYOND}"`, '1e999'),
  );
}

/** Whether something large may come now: now and then, and once in a document, or large things of large things would be made. */
type Large = (share: number) => boolean;
function onceLarge(dice: Dice): Large {
  let used = false;
  return (share) => {
    if (used || !dice.chance(share)) return false;
    used = true;
    return true;
  };
}

function spoilOne(root: Container, dice: Dice, large: Large): void {
  let at = root;
  for (;;) {
    const inside = Object.values(at).filter((value): value is Container => typeof value === 'object' && value !== null);
    if (inside.length === 0 || dice.chance(0.25)) break;
    at = dice.pick(inside);
  }
  const keys = Object.keys(at);
  const key = keys.length > 0 ? dice.pick(keys) : 'more';
  const there = at as Record<string, unknown>;
  const how = dice.below(8);
  if (how === 0) delete there[key];
  else if (how === 1 && !Array.isArray(at)) there[oddWord(dice)] = oddValue(dice, there[key], large);
  else if (how === 2 && Array.isArray(there[key])) there[key] = lengthened(there[key], dice, large);
  else if (how === 3 && typeof there[key] === 'number') there[key] = nearby(there[key], dice);
  else there[key] = oddValue(dice, there[key], large);
}

/** Mostly somewhat longer, now and then by far. */
function lengthened(list: unknown[], dice: Dice, large: Large): unknown[] {
  const count = large(0.04) ? 10 ** (3 + dice.below(4)) : dice.below(40);
  const entry = list.length > 0 && dice.chance(0.7) ? dice.pick(list) : oddValue(dice, 0, large);
  return typeof entry === 'object' && count > 1e4 ? Array(10_001).fill(entry) : [...list, ...Array(count).fill(entry)];
}

const nearby = (value: number, dice: Dice): number =>
  dice.pick([-value, value + 1, value - 1, value * 10, value * 1e6, value / 1e6, Math.round(value), value + 1e-9, -0]);

function oddValue(dice: Dice, there: unknown, large: Large): unknown {
  switch (large(0.02) ? 9 + dice.below(3) : dice.below(9)) {
    case 0:
      return null;
    case 1:
      return dice.pick([0, -0, 1, -1, 1e-300, 1e300, -1e300, 2 ** 31, 2 ** 32, 2 ** 53, 0.1, 1.5, BEYOND]);
    case 2:
      return dice.chance(0.5);
    case 3:
      return oddWord(dice);
    case 4:
      return [];
    case 5:
      return {};
    case 6:
      return [there, there];
    case 7:
      return { kind: oddWord(dice), value: there };
    case 8:
      return JSON.stringify(there) ?? '';
    case 9:
      return dice.pick(DEEP).word;
    case 10:
      return 'x'.repeat(10 ** (2 + dice.below(5)));
    default:
      return Object.fromEntries(Array.from({ length: 10 ** dice.below(5) }, (_, i) => [`key${i}`, i]));
  }
}

const oddWord = (dice: Dice): string =>
  dice.pick([
    '',
    '__proto__',
    'constructor',
    'toString',
    'length',
    'name',
    'kind',
    '\u0000',
    '\ud800',
    '‮gnorw',
    '"quoted" “so”',
    'line\nbreak',
    '\u001b[31mred',
    'word '.repeat(80),
    '../../etc/passwd',
    '<script>alert(1)</script>',
  ]);
