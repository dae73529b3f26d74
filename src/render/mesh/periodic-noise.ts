/** Small integer hash to 0…1 (a multiply-and-shift mix of our own choosing; only its look matters). */
export function tileHash(x: number, y: number, octave: number): number {
  let h = Math.imul(x, 0x27d4eb2d) ^ Math.imul(y, 0x165667b1) ^ Math.imul(octave + 1, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/** Value noise with quintic blending (K. Perlin, "Improving noise", SIGGRAPH 2002) that repeats after `across` and `along` cells. */
export function periodicNoise(x: number, y: number, across: number, along: number, octave: number): number {
  const x0 = Math.floor(x);
  const y0 = Math.floor(y);
  const fade = (t: number): number => t * t * t * (t * (t * 6 - 15) + 10);
  const wrap = (i: number, cells: number): number => ((i % cells) + cells) % cells;
  const u = fade(x - x0);
  const v = fade(y - y0);
  const at = (i: number, j: number): number => tileHash(wrap(x0 + i, across), wrap(y0 + j, along), octave);
  const north = at(0, 0) + (at(1, 0) - at(0, 0)) * u;
  const south = at(0, 1) + (at(1, 1) - at(0, 1)) * u;
  return north + (south - north) * v;
}
