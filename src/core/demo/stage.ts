import type { Body } from './body.ts';
import { noise, roughness } from './noise.ts';
import { box, mix, post, ramp, rod } from './shapes.ts';

/** The landing stage runs from the bank out over the water; s along it (0 at its head), r across. */
const HEAD = { x: -1.7, z: 19.6 } as const;
const TURN = Math.atan2(4.6, 6.4);
const COS = Math.cos(TURN);
const SIN = Math.sin(TURN);
const LENGTH = 8.2;
const HALF_WIDTH = 0.95;
const DECK = 1.02;
const SPACING = 1.62;

const alongOf = (x: number, z: number): number => COS * (x - HEAD.x) + SIN * (z - HEAD.z);
const acrossOf = (x: number, z: number): number => -SIN * (x - HEAD.x) + COS * (z - HEAD.z);

function timbers(s: number, y: number, r: number): number {
  const deck = box(s - 0.5 * LENGTH, y - DECK + 0.05, r, 0.5 * LENGTH, 0.05, HALF_WIDTH);
  const beams = box(s - 0.5 * LENGTH, y - DECK + 0.19, Math.abs(r) - 0.74, 0.5 * LENGTH, 0.1, 0.07);
  const bay = Math.max(0, Math.min(5, Math.round((s - 0.14) / SPACING)));
  const ps = s - 0.14 - bay * SPACING + 0.03 * noise(bay, r > 0 ? 1 : 5, 3);
  const tall = DECK + (r > 0 ? 0.95 : bay === 0 ? 0.75 : 0.16) + 0.1 * noise(bay + 0.5, r > 0 ? 1 : 5, 9);
  const piles = post(ps, y, Math.abs(r) - 0.9, -1, tall, 0.108);
  const brace = rod(s - 0.14 - bay * SPACING, y, r, [0, 0.1, -0.85], [0, 0.85, 0.85], 0.05);
  const rail = rod(s, y, r, [0.1, DECK + 0.78, 0.9], [LENGTH, DECK + 0.74, 0.9], 0.042);
  const middle = rod(s, y, r, [0.1, DECK + 0.4, 0.9], [LENGTH, DECK + 0.37, 0.9], 0.03);
  const ladder = box(s - 0.85, y - 0.55, r + 1.08, 0.24, 0.75, 0.03);
  const holes =
    ladder < 0.3
      ? Math.max(ladder, 0.19 - Math.abs(s - 0.85) > 0 ? Math.abs(((y + 10) % 0.28) - 0.14) - 0.035 : -1)
      : ladder;
  return Math.min(deck, beams, piles, brace, rail, middle, holes);
}

const ends = [0, LENGTH].flatMap((s) =>
  [-1.2, 1.2].map((r) => [HEAD.x + COS * s - SIN * r, HEAD.z + SIN * s + COS * r]),
);
const xs = ends.map(([x]) => x);
const zs = ends.map(([, z]) => z);

/** The wooden landing stage: planks, piles, a rail on the far side, a ladder. */
export const STAGE: Body = {
  low: [Math.min(...xs) - 0.3, -0.3, Math.min(...zs) - 0.3],
  high: [Math.max(...xs) + 0.3, DECK + 1.2, Math.max(...zs) + 0.3],
  distance: (x, y, z) => 0.9 * timbers(alongOf(x, z), y, acrossOf(x, z)),
  relief(x, y, z) {
    const s = alongOf(x, z);
    const r = acrossOf(x, z);
    // Deck: grain along the planks. Piles and rails: checks along the wood.
    if (Math.abs(y - DECK) < 0.06) return 0.012 * roughness(9 * s, 9 * y, 1.5 * r, 3);
    return 0.022 * roughness(11 * s, 1.3 * y, 11 * r, 3) + 0.02 * noise(2.5 * s, 3 * y, 2.5 * r);
  },
  paint(surface, x, y, z, _nx, ny) {
    const s = alongOf(x, z);
    const r = acrossOf(x, z);
    const plank = Math.floor(s / 0.2);
    const gap = ny > 0.7 && Math.abs(y - DECK) < 0.05 && s / 0.2 - plank < 0.13 ? 0.2 : 1;
    const flat = Math.abs(y - DECK) < 0.06;
    const grain = flat ? roughness(14 * s, 6 * y, 2 * r, 3) : 1.5 * roughness(17 * s, 1.6 * y, 17 * r, 4);
    const dry = (0.33 + 0.12 * noise(plank * 1.9 + 0.4, 2, 6) + 0.15 * grain) * gap;
    const weed = ramp(0.75, 0.3, y + 0.15 * noise(3 * x, 1, 3 * z));
    surface.albedo = mix(Math.abs(r) > 1.0 && y > DECK ? dry * 0.8 : dry, 0.035, weed);
    surface.gloss = 0.05 + 0.3 * weed;
    surface.sharpness = 24;
  },
};
