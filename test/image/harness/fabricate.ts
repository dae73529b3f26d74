import type { ProofSurface, ProofSwath } from '../../../src/render/slab/surface/gpu-surface.ts';
import type { GroundAt } from './ground.ts';

export interface FabricateOptions {
  widthMm: number;
  heightMm: number;
  /** Cells along the longer side are widthMm / pitchMm. */
  pitchMm: number;
  /** How strongly the surface was burned; 1 clears most light areas, less leaves residue, more scorches. */
  strength: number;
  seed: number;
  crop: 'rectangle' | 'oval';
  id?: string;
  /** The unburned slab under it, at places from the surface's top-left; an even coat by default. */
  ground?: GroundAt;
}

/** A small seeded generator (the multiply-with-carry form), good enough for pictures. */
function generator(seed: number): () => number {
  let a = (seed * 2654435761) >>> 0 || 1;
  return () => {
    a = (Math.imul(a, 1664525) + 1013904223) >>> 0;
    return a / 4294967296;
  };
}

/** Smooth noise 0…1 over a lattice that repeats. */
export function lattice(seed: number, cells: number): (x: number, y: number) => number {
  const random = generator(seed);
  const values = Float32Array.from({ length: cells * cells }, () => random());
  const at = (x: number, y: number): number =>
    values[(((y % cells) + cells) % cells) * cells + (((x % cells) + cells) % cells)];
  return (x, y) => {
    const x0 = Math.floor(x);
    const y0 = Math.floor(y);
    const u = (x - x0) * (x - x0) * (3 - 2 * (x - x0));
    const v = (y - y0) * (y - y0) * (3 - 2 * (y - y0));
    const north = at(x0, y0) + (at(x0 + 1, y0) - at(x0, y0)) * u;
    const south = at(x0, y0 + 1) + (at(x0 + 1, y0 + 1) - at(x0, y0 + 1)) * u;
    return north + (south - north) * v;
  };
}

const ramp = (x: number, low: number, high: number): number => {
  const t = Math.min(1, Math.max(0, (x - low) / (high - low)));
  return t * t * (3 - 2 * t);
};

/** A made-up shore: evening sky, low hills, a pale house, a boat with two sails, dark rocks. Tone 0…1 at u, v in 0…1. */
export function sceneTone(u: number, v: number, noise: (x: number, y: number) => number): number {
  const cloud = noise(u * 5, v * 14) * 0.5 + noise(u * 11, v * 30) * 0.3 + noise(u * 23, v * 60) * 0.2;
  let tone = 0.34 + 0.5 * ramp(v, 0.0, 0.6) + 0.2 * (cloud - 0.5);
  const sun = Math.hypot((u - 0.66) * 1.3, v - 0.46);
  tone += 0.3 * Math.exp(-sun * sun * 30);
  const hill = 0.56 - 0.09 * Math.exp(-(((u - 0.22) / 0.16) ** 2)) - 0.03 * noise(u * 9, 3) - 0.012 * noise(u * 40, 7);
  if (v > hill) tone = 0.3 + 0.12 * noise(u * 30, v * 40) - 0.2 * ramp(v, hill, hill + 0.1);
  const water = 0.62;
  if (v > water) {
    const wave = noise(u * 26, v * 190) * 0.6 + noise(u * 70, v * 420) * 0.4;
    const glitter = Math.exp(-(((u - 0.66) / (0.05 + 0.25 * (v - water))) ** 2));
    tone = 0.3 + 0.18 * wave + 0.5 * glitter * ramp(wave, 0.35, 0.65) - 0.1 * ramp(v, 0.7, 1);
  }
  // The house.
  if (u > 0.15 && u < 0.27 && v > 0.44 && v < 0.53)
    tone = 0.93 - 0.12 * ramp(u, 0.2, 0.27) + 0.04 * noise(u * 200, v * 200);
  if (v > 0.39 && v <= 0.44 && Math.abs(u - 0.21) < 0.075 - (0.44 - v) * 0.9)
    tone = 0.18 + 0.08 * noise(u * 160, v * 30);
  for (const [x, y] of [
    [0.175, 0.475],
    [0.21, 0.475],
    [0.245, 0.475],
  ]) {
    if (Math.abs(u - x) < 0.008 && Math.abs(v - y) < 0.014) tone = 0.1;
  }
  // The boat: hull, mast, two sails.
  const sail = (x0: number, x1: number, top: number): void => {
    const t = (v - top) / (0.655 - top);
    if (t < 0 || t > 1) return;
    const left = x0 + (1 - t) * (x1 - x0) * 0.8;
    const bulge = x1 - 0.015 * Math.sin(t * Math.PI);
    if (u > left && u < bulge) tone = 0.86 - 0.22 * ((u - left) / (x1 - x0)) + 0.03 * noise(u * 60, v * 160);
  };
  sail(0.46, 0.555, 0.3);
  sail(0.6, 0.5665, 0.36);
  if (u > 0.564 && u < 0.64 && v < 0.65 && v > 0.36 + (u - 0.564) * 3.4) tone = 0.72 + 0.1 * ((u - 0.564) / 0.08);
  if (Math.abs(u - 0.559) < 0.0016 && v > 0.27 && v < 0.67) tone = 0.06;
  const hull = 0.665 + 0.02 * ((u - 0.555) / 0.11) ** 2;
  if (Math.abs(u - 0.555) < 0.105 && v > 0.662 && v < 0.7 - 0.03 * ((u - 0.555) / 0.105) ** 4 && v > hull - 0.01)
    tone = 0.08;
  // Rocks in the foreground.
  const rock = 0.9 - 0.17 * ramp(u, 0.5, 0) - 0.06 * noise(u * 8, 11) - 0.03 * noise(u * 24, 5);
  if (v > rock) {
    const facet = noise(u * 26, v * 22) * 0.6 + noise(u * 60, v * 55) * 0.4;
    tone = 0.03 + 0.28 * ramp(facet, 0.4, 0.9) * (1 - ramp(v, rock, rock + 0.2));
  }
  return Math.min(1, Math.max(0, tone));
}

const decode = (c: number): number => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
export const encodeSrgb = (c: number): number => (c <= 0.0031308 ? c * 12.92 : 1.055 * c ** (1 / 2.4) - 0.055);

export const PEAT = [0.33, 0.282, 0.25].map(decode) as [number, number, number];
const OAT = [0.905, 0.865, 0.775].map(decode);
const CHAR = [0.5, 0.36, 0.22].map(decode);

/** Half float of a finite number, truncating; enough for a fabricated relief. */
export function toHalf(value: number): number {
  const float = new Float32Array([value]);
  const bits = new Uint32Array(float.buffer)[0];
  const sign = (bits >>> 16) & 0x8000;
  const exponent = ((bits >>> 23) & 0xff) - 112;
  if (exponent <= 0) return sign;
  return sign | (exponent << 10) | ((bits >>> 13) & 0x3ff);
}

/** A believable burned surface: dots set by error diffusion, a film of uneven thickness, residue where it was too thick. */
export function fabricate(options: FabricateOptions): ProofSurface {
  const { widthMm, heightMm, pitchMm, strength, seed } = options;
  const width = Math.max(2, Math.round(widthMm / pitchMm));
  const height = Math.max(2, Math.round(heightMm / pitchMm));
  const noise = lattice(seed, 64);
  const film = lattice(seed + 1, 64);
  const random = generator(seed + 2);

  // Dots on a grid of 0.16 mm, or of one cell where cells are larger.
  const dotMm = Math.max(0.16, pitchMm);
  const dotsX = Math.ceil(widthMm / dotMm);
  const dotsY = Math.ceil(heightMm / dotMm);
  const dots = new Float32Array(dotsX * dotsY);
  const coarse = pitchMm > 0.2;
  let here = new Float32Array(dotsX + 2);
  let next = new Float32Array(dotsX + 2);
  for (let y = 0; y < dotsY; y++) {
    for (let x = 0; x < dotsX; x++) {
      const tone = decode(sceneTone((x + 0.5) / dotsX, (y + 0.5) / dotsY, noise)) * 1.02;
      if (coarse) {
        dots[y * dotsX + x] = Math.min(1, tone);
        continue;
      }
      const wanted = tone + here[x + 1];
      const on = wanted >= 0.5 ? 1 : 0;
      const error = wanted - on;
      here[x + 2] += (error * 7) / 16;
      next[x] += (error * 3) / 16;
      next[x + 1] += (error * 5) / 16;
      next[x + 2] += error / 16;
      dots[y * dotsX + x] = on;
    }
    [here, next] = [next, here];
    next.fill(0);
  }

  const swaths: ProofSwath[] = [];
  const halfOf = new Uint16Array(4096);
  for (let i = 0; i < 4096; i++) halfOf[i] = toHalf(i / 32 - 96);
  const half = (um: number): number => halfOf[Math.min(4095, Math.max(0, Math.round((um + 96) * 32)))];
  const encoded = new Uint8Array(4096);
  for (let i = 0; i < 4096; i++) encoded[i] = Math.round(255 * encodeSrgb(i / 4095));
  const scorchHalf = Array.from({ length: 256 }, (_, i) => toHalf(i / 255));

  for (let y0 = 0; y0 < height; y0 += 200) {
    const rows = Math.min(200, height - y0);
    const color = new Uint8Array(rows * width * 4);
    const relief = new Uint16Array(rows * width * 2);
    for (let row = 0; row < rows; row++) {
      const y = y0 + row;
      const mmY = (y + 0.5) * pitchMm;
      const dy = mmY / dotMm - 0.5;
      const j = Math.floor(dy);
      const fy = dy - j;
      for (let x = 0; x < width; x++) {
        const mmX = (x + 0.5) * pitchMm;
        const i = row * width + x;
        const dx = mmX / dotMm - 0.5;
        const k = Math.floor(dx);
        const fx = dx - k;
        // Film: 25 µm, spray overlap bands, slow drift, orange peel.
        const slow = film(mmX / 38, mmY / 44) - 0.5;
        const band = Math.sin(mmY / 7.3 + 2.2 * film(mmX / 60, mmY / 60)) * 0.9;
        const peel = (film(mmX / 1.7, mmY / 1.7) - 0.5) * 1.5 + (film(mmX / 0.7 + 9, mmY / 0.7) - 0.5) * 0.5;
        const ripple = slow * 9 + band + peel;
        const under = options.ground?.(mmX, mmY);
        const coat = under?.rgb ?? PEAT;
        const thickness = 25 + ripple;
        let inside = true;
        if (options.crop === 'oval') {
          inside = ((mmX / widthMm) * 2 - 1) ** 2 + ((mmY / heightMm) * 2 - 1) ** 2 <= 1;
        }
        let removed = 0;
        let excess = 0;
        if (inside) {
          // The beam is a little wider than the dot grid: a light-weight Gaussian over the nearest four by four dots.
          let dose = 0;
          if (coarse) dose = dots[Math.min(dotsY - 1, y) * dotsX + Math.min(dotsX - 1, x)];
          else {
            for (let b = -1; b <= 2; b++) {
              const py = j + b;
              if (py < 0 || py >= dotsY) continue;
              const wy = Math.exp(-((fy - b) ** 2) * 1.9);
              for (let a = -1; a <= 2; a++) {
                const px = k + a;
                if (px < 0 || px >= dotsX || dots[py * dotsX + px] === 0) continue;
                dose += wy * Math.exp(-((fx - a) ** 2) * 2.1);
              }
            }
            dose = Math.min(1.6, dose) * (0.97 + 0.06 * random());
          }
          const reach = coarse ? dose * 26.5 * strength : Math.max(0, dose * strength - 0.3) * 72;
          removed = Math.min(thickness, reach);
          excess = Math.max(0, reach - thickness);
        }
        const residue = thickness - removed;
        const shade = coarse ? residue / thickness : 1 - Math.exp(-residue / 2.6);
        const scorch = coarse ? 0 : Math.min(1, excess / 75) ** 2;
        const grainy = coarse || (under && removed === 0) ? 1 : 0.97 + 0.06 * random();
        for (let c = 0; c < 3; c++) {
          const base = OAT[c] + (CHAR[c] - OAT[c]) * scorch * 0.8;
          const value = (base + (coat[c] - base) * shade) * grainy;
          color[4 * i + c] = encoded[Math.min(4095, Math.round(value * 4095))];
        }
        const meant = coarse
          ? 0
          : dots[
              Math.min(dotsY - 1, Math.max(0, Math.round(dy))) * dotsX +
                Math.min(dotsX - 1, Math.max(0, Math.round(dx)))
            ];
        const left = meant > 0 && inside ? Math.min(1, Math.max(0, (residue - 1.2) / 3)) : 0;
        color[4 * i + 3] = Math.round(255 * left);
        relief[2 * i] = half((under?.reliefUm ?? ripple) - removed - excess * 0.05);
        relief[2 * i + 1] = scorchHalf[Math.round(255 * scorch)];
      }
    }
    swaths.push({ y0, rows, color, relief });
  }
  return {
    id: options.id ?? `fabricated-${seed}-${strength}`,
    width,
    height,
    pitchMm,
    swaths,
    complete: true,
    version: 1,
  };
}
