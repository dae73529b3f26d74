import { createGenerator } from '../random/generator.ts';

const SIZE = 256;
const order = new Uint8Array(2 * SIZE);
const heights = new Float32Array(SIZE);

const generator = createGenerator(7041);
for (let i = 0; i < SIZE; i++) {
  order[i] = i;
  heights[i] = 2 * generator.nextUnit() - 1;
}
for (let i = SIZE - 1; i > 0; i--) {
  const j = generator.nextUint32() % (i + 1);
  const kept = order[i];
  order[i] = order[j];
  order[j] = kept;
}
order.copyWithin(SIZE, 0, SIZE);
/** Heights in the order in which the last of three steps looks them up. */
const shuffled = Float32Array.from(order, (at) => heights[at]);

/** Smooth noise of one unit's grain, −1 … 1: random heights on a lattice with smooth steps between them, always the same. */
export function noise(x: number, y: number, z: number): number {
  const fx = Math.floor(x);
  const fy = Math.floor(y);
  const fz = Math.floor(z);
  const sx = ease(x - fx);
  const sy = ease(y - fy);
  const sz = ease(z - fz);
  const ix = fx & 255;
  const iy = fy & 255;
  const z0 = fz & 255;
  const z1 = (fz + 1) & 255;
  const a = order[ix] + iy;
  const b = order[ix + 1] + iy;
  const a0 = order[a & 255];
  const a1 = order[(a + 1) & 255];
  const b0 = order[b & 255];
  const b1 = order[(b + 1) & 255];
  const low = blend(
    blend(shuffled[a0 + z0], shuffled[b0 + z0], sx),
    blend(shuffled[a1 + z0], shuffled[b1 + z0], sx),
    sy,
  );
  const high = blend(
    blend(shuffled[a0 + z1], shuffled[b0 + z1], sx),
    blend(shuffled[a1 + z1], shuffled[b1 + z1], sx),
    sy,
  );
  return blend(low, high, sz);
}

/** Noise over noise, each octave about twice as fine and half as strong and turned a little, so that no lattice shows. */
export function roughness(x: number, y: number, z: number, octaves: number): number {
  let sum = 0;
  let strength = 0.5;
  let px = x;
  let py = y;
  let pz = z;
  for (let i = 0; i < octaves; i++) {
    sum += strength * noise(px, py, pz);
    strength *= 0.5;
    const qx = 1.62 * px + 1.21 * pz + 3.1;
    py = 2.03 * py + 0.17 * px + 7.7;
    pz = 1.62 * pz - 1.21 * px + 1.9;
    px = qx;
  }
  return sum;
}

const ease = (t: number): number => t * t * t * (t * (6 * t - 15) + 10);
const blend = (from: number, to: number, share: number): number => from + (to - from) * share;
