import { createGenerator } from '../../base/random/generator.ts';
import type { Knot, Slab, Wood } from '../../piece/schema.ts';
import { addSmoothRow } from '../film/film.ts';
import type { RowPlace } from '../film/laid-film.ts';

/** The wood under one row of cells; arrays of the row's length. */
export interface GroundRow {
  /** Height of the bare face over its mean, µm. */
  readonly reliefUm: Float32Array;
  /** Density over the wood's mean. */
  readonly density: Float32Array;
  /** How far its colour is from clear wood (0) towards a knot's (1); less than 0 where it is paler. */
  readonly shade: Float32Array;
}

interface Grain {
  row(place: RowPlace, out: GroundRow): void;
}

/** L* that a knot is darker than the wood round it: 15–25 (value from memory). */
export const KNOT_LIGHTNESS = 20;

/** Density of a knot over clear wood's: 1.5–2.5 (value from memory). */
const KNOT_DENSITY = 1.9;

/** How far above the pith a plank is cut, mm: makes flat-sawn figure. */
const PLANK_HEIGHT_MM = 40;

/** Distance of the saw's marks, mm (estimate). */
const SAW_MARK_MM = 2.3;

/** Rings, rays, pores, saw marks and knots of a slab, worked out at each place. Takes some hundred nanoseconds a place. */
export function createGrain(slab: Slab): Grain {
  const { wood, cut, pithXMm, pithYMm, grainSeed } = slab;
  const seed = (Math.imul(grainSeed, 0x9e3779b1) ^ 0x600d) >>> 0;
  const reachMm = Math.hypot(slab.widthMm, slab.heightMm) + Math.hypot(pithXMm, pithYMm) + 4 * PLANK_HEIGHT_MM;
  const { late, year } = growRings(seed, wood.ringWidthMm, reachMm);
  const lateMean = late.reduce((sum, value) => sum + value, 0) / late.length;
  const lateSpread = Math.sqrt(late.reduce((sum, value) => sum + (value - lateMean) ** 2, 0) / late.length);
  const contrast = wood.ringContrast - 1;
  const perLate = contrast / (1 + contrast * lateMean);
  const darkness = wood.ringLightness / KNOT_LIGHTNESS;
  const knots = slab.knots.map((knot) => placeKnot(knot, slab));
  const slice = cut === 'slice';
  const plain = contrast === 0 && darkness === 0 && knots.length === 0;
  const sanded = slab.finish === 'sanded';
  const spreadUm = sanded ? wood.sandedReliefUm : wood.sawnReliefUm;
  const fineUm = (sanded ? 0.8 : 0.55) * spreadUm;
  const ridgeUm = (0.65 * spreadUm) / Math.max(lateSpread, 1e-3);
  const sawUm = sanded ? 0 : 0.6 * spreadUm;
  let warp = new Float32Array(0);
  let bend = new Float32Array(0);
  let streak = new Float32Array(0);

  function row(place: RowPlace, { reliefUm, density, shade }: GroundRow): void {
    const { originXMm, yMm, pitchMm } = place;
    const length = reliefUm.length;
    reliefUm.fill(0);
    if (warp.length !== length) {
      warp = new Float32Array(length);
      bend = new Float32Array(length);
      streak = new Float32Array(length);
    }
    const noise = (out: Float32Array, key: number, alongMm: number, acrossMm: number, gain: number) =>
      addSmoothRow(out, (seed ^ (key * 0x9e37)) >>> 0, originXMm, yMm, pitchMm, alongMm, gain, acrossMm);
    if (fineUm > 0) noise(reliefUm, 1, slice ? 0.5 : 5, 0.45, fineUm);
    if (sawUm > 0) addSawMarks(reliefUm, place, sawUm);
    if (plain) {
      density.fill(1);
      shade.fill(0);
    } else {
      growRow(place, { reliefUm, density, shade }, noise);
    }
  }

  /** Saw marks run across the feed, wavering. */
  function addSawMarks(reliefUm: Float32Array, { originXMm, yMm, pitchMm }: RowPlace, gain: number): void {
    bend.fill(0);
    addSmoothRow(bend, (seed ^ 0x5a3) >>> 0, originXMm, yMm, pitchMm, 14, 1.1, 60);
    streak.fill(0);
    addSmoothRow(streak, (seed ^ 0x5a4) >>> 0, originXMm, yMm, pitchMm, 22, 0.5, 22);
    for (let i = 0; i < reliefUm.length; i++) {
      const x = originXMm + (i + 0.5) * pitchMm;
      const turn = (2 * Math.PI * (x + 0.22 * yMm)) / SAW_MARK_MM + bend[i];
      reliefUm[i] += gain * Math.max(0, 1 + streak[i]) * (Math.sin(turn) + 0.35 * Math.sin(2 * turn + 1));
    }
  }

  function growRow(
    { originXMm, yMm, pitchMm }: RowPlace,
    { reliefUm, density, shade }: GroundRow,
    noise: (out: Float32Array, key: number, alongMm: number, acrossMm: number, gain: number) => void,
  ): void {
    const length = density.length;
    warp.fill(0);
    noise(warp, 2, slice ? 42 : 160, slice ? 42 : 38, slice ? 2.2 : 2.6);
    noise(warp, 3, slice ? 10 : 60, slice ? 10 : 7, slice ? 0.35 : 0.45);
    shade.fill(0);
    noise(shade, 4, slice ? 0.9 : 9, slice ? 0.9 : 0.4, 0.22 * darkness);
    noise(shade, 5, 70, 50, 0.5 * darkness);
    if (knots.length > 0) {
      bend.fill(0);
      noise(bend, 6, 7, 7, 1);
    }
    for (let i = 0; i < length; i++) {
      const x = originXMm + (i + 0.5) * pitchMm;
      const dx = slice ? x - pithXMm : PLANK_HEIGHT_MM + 0.05 * x;
      const dy = yMm - pithYMm;
      const radius = Math.sqrt(dx * dx + dy * dy);
      let ring = radius + warp[i];
      let inKnot = -1;
      let edge = 0;
      for (let k = 0; k < knots.length; k++) {
        const knot = knots[k];
        const reach = knotReach(knot, x, yMm, bend[i]);
        if (reach > 5) continue;
        const fromMiddle = awayFrom(knot, x, yMm, dx, dy, radius, slice);
        ring += ringShift(reach, fromMiddle);
        if (reach < 1.12) {
          inKnot = reach * knot.radiusMm;
          edge = reach;
        }
      }
      const at = Math.min(late.length - 1, Math.max(0, Math.round(Math.abs(ring) / RING_STEP_MM)));
      const lateness = late[at] - lateMean;
      density[i] = 1 + perLate * lateness;
      let ridge = lateness;
      shade[i] += darkness * (lateness / 0.75 + 0.35 * year[at]);
      if (slice && radius > 4) {
        const angle = Math.atan2(dy, dx);
        const ray =
          Math.sin(311 * angle + 2.1 * Math.sin(23 * angle) + 0.02 * radius) * Math.sin(127 * angle + 0.05 * radius);
        shade[i] -= 0.22 * darkness * Math.max(0, ray) ** 2;
      }
      if (inKnot >= 0) {
        // Sound wood of its own: narrow rings, darkest at its edge, where the branch's bark and resin are.
        const own = late[Math.min(late.length - 1, Math.round((3.2 * inKnot) / RING_STEP_MM))];
        const inside = smooth((1.12 - edge) / 0.14);
        const rim = Math.exp(-(((edge - 0.97) / 0.07) ** 2));
        density[i] += inside * (KNOT_DENSITY - density[i]);
        ridge *= 1 - inside;
        shade[i] += inside * (0.8 + 0.25 * (own - lateMean) + 0.45 * rim + 0.1 * (1 - edge) - shade[i]);
      }
      // Latewood wears less under the saw and the paper, and stands up when it is wetted.
      reliefUm[i] += ridgeUm * ridge;
    }
  }

  return { row };
}

/** Distance from a knot's middle in the direction in which rings follow one another. */
function awayFrom(
  knot: PlacedKnot,
  x: number,
  y: number,
  dx: number,
  dy: number,
  radius: number,
  slice: boolean,
): number {
  if (radius < 1e-6) return 0;
  const across = ((y - knot.yMm) * dy) / radius;
  return slice ? across + ((x - knot.xMm) * dx) / radius : across;
}

const smooth = (x: number): number => {
  const t = Math.min(1, Math.max(0, x));
  return t * t * (3 - 2 * t);
};

/** Growth rings from the pith outwards, tabulated over the radius. */
interface Rings {
  /** Latewood share 0–1 at `i · RING_STEP_MM`: 0 in earlywood, 1 at the end of a ring. */
  readonly late: Float32Array;
  /** How dark this year's wood is against others', about −1 … 1. */
  readonly year: Float32Array;
}

export const RING_STEP_MM = 0.05;

/** Spread and memory of ring widths: lognormal, CV 0.35, first-order autocorrelation 0.5 (values from memory). */
const WIDTH_SPREAD = 0.35;

const WIDTH_MEMORY = 0.5;

/** The last part of a ring that is latewood; narrow in diffuse-porous woods (value from memory). */
const LATE_PART = 0.22;

/** Rings of a tree out to a radius. Seeded: the same tree every time. */
export function growRings(seed: number, meanWidthMm: number, radiusMm: number): Rings {
  const random = createGenerator(seed >>> 0);
  const steps = Math.ceil(radiusMm / RING_STEP_MM) + 2;
  const late = new Float32Array(steps);
  const year = new Float32Array(steps);
  const innovation = Math.sqrt(1 - WIDTH_MEMORY * WIDTH_MEMORY);
  let state = random.nextNormal();
  let start = 0;
  let i = 0;
  while (i < steps) {
    state = WIDTH_MEMORY * state + innovation * random.nextNormal();
    const width = Math.max(0.15, meanWidthMm * Math.exp(WIDTH_SPREAD * state - 0.5 * WIDTH_SPREAD ** 2));
    const shade = 0.6 * random.nextNormal();
    for (; i < steps && i * RING_STEP_MM < start + width; i++) {
      const place = (i * RING_STEP_MM - start) / width;
      late[i] = lateness(place);
      year[i] = shade;
    }
    start += width;
  }
  return { late, year };
}

/** Rises slowly over the ring, steeply at its end, and falls at once at the next spring. */
function lateness(place: number): number {
  const rise = Math.max(0, (place - (1 - LATE_PART)) / LATE_PART);
  const spring = Math.min(1, place / 0.05);
  return spring * (0.25 * place + 0.75 * rise * rise * (3 - 2 * rise)) + (1 - spring) * 0.8 * (1 - spring);
}

/** A knot is resinous: it chars at this share of clear wood's dose (estimate; calibrate). */
const KNOT_ONSET = 0.3;

/** The wood of a knot: darker, and black at a smaller dose. */
export function knotWood(wood: Wood): Wood {
  const [l, a, b] = wood.colorLab;
  return {
    ...wood,
    colorLab: [Math.max(5, l - KNOT_LIGHTNESS), a + 5, b + 2],
    absorptance: woodAbsorptanceAt(wood.absorptance, 1),
    scorchOnsetJPerMm2: wood.scorchOnsetJPerMm2 * KNOT_ONSET,
    // A knot ends blacker than the wood round it (common practice, no published source).
    lightnessLoss: Math.max(0, wood.lightnessLoss - KNOT_LIGHTNESS + 15),
  };
}

/** Absorptance of wood of a shade (0 clear, 1 knot): a knot reflects half as much (estimate from its lightness). */
export const woodAbsorptanceAt = (absorptance: number, shade: number): number =>
  1 - (1 - absorptance) * Math.max(0.2, 1 - 0.5 * shade);

/** A knot with what is needed at every place worked out once. */
interface PlacedKnot {
  readonly xMm: number;
  readonly yMm: number;
  readonly radiusMm: number;
  /** Direction in which its lean draws it out, and by how much. */
  readonly cosine: number;
  readonly sine: number;
  readonly stretch: number;
}

/** Along the grain of a plank, outwards from the pith in a slice. */
export function placeKnot(knot: Knot, slab: Slab): PlacedKnot {
  const outwards = Math.atan2(knot.yMm - slab.pithYMm, knot.xMm - slab.pithXMm);
  const heading = slab.cut === 'plank' ? 0 : outwards;
  return {
    xMm: knot.xMm,
    yMm: knot.yMm,
    radiusMm: knot.diameterMm / 2,
    cosine: Math.cos(heading),
    sine: Math.sin(heading),
    stretch: 1 / Math.cos(knot.tiltRad),
  };
}

/** Distance from a knot's middle over its radius, its outline bent a little so that it is no ellipse. */
function knotReach(knot: PlacedKnot, xMm: number, yMm: number, bend: number): number {
  const dx = xMm - knot.xMm;
  const dy = yMm - knot.yMm;
  const along = (dx * knot.cosine + dy * knot.sine) / knot.stretch;
  const across = -dx * knot.sine + dy * knot.cosine;
  return Math.sqrt(along * along + across * across) / (knot.radiusMm * (1 + 0.08 * bend));
}

/**
 * How far rings are pushed aside round a knot, along the direction in which they follow one another (n): they run round it as
 * streamlines run round a cylinder, ψ = n·(1 − R²/ρ²), and forget it a few radii away.
 */
function ringShift(reach: number, fromMiddleMm: number): number {
  if (reach <= 1) return -fromMiddleMm;
  const fade = Math.exp(-0.18 * (reach - 1) ** 2);
  return (-fromMiddleMm * fade) / (reach * reach);
}
