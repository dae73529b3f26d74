import { movedBox, type PlacedBox, scaledBox, turnedBox } from '../../../physics/bed/placed-box.ts';

const DEG = Math.PI / 180;
const ARROWS: Readonly<Record<string, readonly [number, number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};
const TURNS: Readonly<Record<string, number>> = { '[': 1, '{': 15, ']': -1, '}': -15 };
const SCALES: Readonly<Record<string, number>> = { '+': 1.01, '=': 1.01, '-': 1 / 1.01, _: 1 / 1.01 };

/**
 * Where a key takes the box: arrows move by 1 mm (with Shift 10 mm), + and − scale by 1 %, [ and ] turn by 1° (with Shift 15°), 0 brings
 * it to the slab's middle. Null for a key that means nothing here.
 */
export function boxByKey(box: PlacedBox, { key, shiftKey }: { key: string; shiftKey: boolean }): PlacedBox | null {
  const arrow = ARROWS[key];
  if (arrow) return movedBox(box, [arrow[0] * (shiftKey ? 10 : 1), arrow[1] * (shiftKey ? 10 : 1)]);
  if (key in TURNS) return turnedBox(box, box.turnRad + TURNS[key] * DEG, DEG / 4);
  if (key in SCALES) return scaledBox(box, SCALES[key]);
  return key === '0' ? { ...box, centreXMm: 0, centreYMm: 0 } : null;
}
