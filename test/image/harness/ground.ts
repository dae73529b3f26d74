import type { ProofSurface, ProofSwath } from '../../../src/render/slab/surface/gpu-surface.ts';
import { encodeSrgb, lattice, PEAT, toHalf } from './fabricate.ts';

/** What a made-up slab is like at a place before it is burned. */
export interface GroundPoint {
  /** Linear rgb. */
  readonly rgb: readonly [number, number, number];
  /** Share that is painted. */
  readonly painted: number;
  readonly reliefUm: number;
}

export type GroundAt = (xMm: number, yMm: number) => GroundPoint;

export interface SlabOptions {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Taped-off rim of an oval slab, 0 for none. */
  readonly maskedMm: number;
}

const WOOD = [0.66, 0.5, 0.32] as const;
const KNOT = [0.2, 0.11, 0.05] as const;
const smooth = (low: number, high: number, x: number): number => {
  const t = Math.min(1, Math.max(0, (x - low) / (high - low)));
  return t * t * (3 - 2 * t);
};

/** Peat over lime wood, from the slab's centre: rings that show through faintly, a knot left of the middle, spray bands. */
export function slabGround({ widthMm, heightMm, maskedMm }: SlabOptions): GroundAt {
  const noise = lattice(41, 64);
  return (x, y) => {
    const warp = 5 * (noise(x / 31 + 20, y / 31 + 20) - 0.5) + 1.2 * (noise(x / 7 + 9, y / 7 + 9) - 0.5);
    const fromKnot = Math.hypot(x + 58, (y - 12) * 1.15);
    const bent = 24 * Math.exp(-((fromKnot / 17) ** 2));
    const years = (Math.hypot(x - 22, y + 14) + warp + bent) / 2.6;
    const part = years - Math.floor(years);
    const late = smooth(0.3, 0.9, part) * (1 - smooth(0.93, 1, part));
    const pores = noise(x / 0.45 + 31, y / 0.45 + 31) - 0.5;
    const knot = 1 - smooth(8.2, 9.6, fromKnot + 1.5 * (noise(x / 4, y / 4 + 50) - 0.5));
    const reach = Math.hypot(x / (widthMm / 2), y / (heightMm / 2));
    const edgeMm = (1 - reach) * 0.5 * Math.min(widthMm, heightMm);
    const seep = 0.5 * (noise(x / 2.2 + 3, y / 2.2 + 3) - 0.5);
    const painted = maskedMm > 0 ? smooth(-0.15, 0.15, edgeMm - maskedMm + seep) : 1;
    const band = Math.sin(y / 6.1 + 2.5 * noise(x / 50 + 7, y / 50 + 7));
    const peel = noise(x / 1.3 + 13, y / 1.3 + 13) - 0.5;
    // The coat lies on the wood as a veil that thins over ridges.
    const through = 1 + 0.05 * (0.5 - late) - 0.1 * knot + 0.02 * band;
    const wood = (c: number): number => {
      const clear = WOOD[c] * (1.04 - 0.13 * late) * (1 + 0.1 * pores);
      return clear + (KNOT[c] * (1 + 0.5 * late) - clear) * knot;
    };
    const at = (c: number): number => wood(c) + (PEAT[c] * through - wood(c)) * painted;
    const grainUm = 4.5 * late + 7 * pores * (1 - 0.75 * painted) + 9 * knot * (1 + 0.5 * late);
    const filmUm = painted * (1.3 * band + 2.2 * peel) - (1 - painted) * 55;
    return { rgb: [at(0), at(1), at(2)], painted, reliefUm: grainUm + filmUm };
  };
}

/** A ground as the view takes it, or a cut-out of it as an unburned proof (`alpha` then says that nothing is uncleared). */
export function surfaceOfGround(
  ground: GroundAt,
  area: { westMm: number; northMm: number; widthMm: number; heightMm: number; pitchMm: number },
  kind: { id: string; alpha: 'painted' | 'uncleared' },
): ProofSurface {
  const { westMm, northMm, pitchMm } = area;
  const width = Math.ceil(area.widthMm / pitchMm);
  const height = Math.ceil(area.heightMm / pitchMm);
  const color = new Uint8Array(width * height * 4);
  const relief = new Uint16Array(width * height * 2);
  for (let row = 0; row < height; row++) {
    for (let i = 0; i < width; i++) {
      const cell = row * width + i;
      const { rgb, painted, reliefUm } = ground(westMm + (i + 0.5) * pitchMm, northMm + (row + 0.5) * pitchMm);
      for (let c = 0; c < 3; c++) color[4 * cell + c] = Math.round(255 * encodeSrgb(rgb[c]));
      color[4 * cell + 3] = kind.alpha === 'painted' ? Math.round(255 * painted) : 0;
      relief[2 * cell] = toHalf(reliefUm);
    }
  }
  const swaths: ProofSwath[] = [{ y0: 0, rows: height, color, relief }];
  return { id: kind.id, width, height, pitchMm, swaths, complete: true, version: 1 };
}

/** A surface in cells of 1 mm from codes (sRGB and alpha), heights in µm and one scorch for all. */
export function evenSurface(
  id: string,
  width: number,
  height: number,
  codes: (x: number, y: number) => readonly number[],
  heightUm: (x: number, y: number) => number = () => 0,
  scorch = 0,
): ProofSurface {
  const color = new Uint8Array(width * height * 4);
  const relief = new Uint16Array(width * height * 2);
  for (let cell = 0; cell < width * height; cell++) {
    const x = (cell % width) + 0.5;
    const y = Math.floor(cell / width) + 0.5;
    color.set(codes(x, y), 4 * cell);
    relief[2 * cell] = toHalf(heightUm(x, y));
    relief[2 * cell + 1] = toHalf(scorch);
  }
  const swaths: ProofSwath[] = [{ y0: 0, rows: height, color, relief }];
  return { id, width, height, pitchMm: 1, swaths, complete: true, version: 1 };
}

/** The whole made-up slab as a ground of cells of `pitchMm`. */
export function fabricateGround(slab: SlabOptions & { pitchMm?: number }): ProofSurface {
  const pitchMm = slab.pitchMm ?? 0.25;
  const { widthMm, heightMm, maskedMm } = slab;
  const area = { westMm: -widthMm / 2, northMm: -heightMm / 2, widthMm, heightMm, pitchMm };
  return surfaceOfGround(slabGround(slab), area, { id: `ground-${maskedMm}-${pitchMm}`, alpha: 'painted' });
}
