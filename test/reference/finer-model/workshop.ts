import type { BlindWorld } from './blind-worlds.ts';
import { createFilm, type FilmField } from './film.ts';
import { createOptics, type Optics } from './optics.ts';
import { warmthOfRows } from './rows-heat.ts';
import { type TabulatedCrossing, tabulate } from './tabulated.ts';

/** One pass over an even patch: set power as a share, feed and pitch in mm/s and mm, and how warm it finds the work. */
export interface EvenBurn {
  readonly power: number;
  readonly feedMmPerS: number;
  readonly pitchMm: number;
  readonly warmK: number;
}

/** What is left of the top coat at places across a row, and the dose that has gone past it there, J/mm² by the name plate. */
export interface Across {
  readonly leftUm: Float64Array;
  readonly excess: Float64Array;
}

/** A pass over a picture: set power of each dot, row-major. */
export interface PicturePass {
  readonly power: Float32Array;
  readonly feedMmPerS: number;
}

export interface BurnedPicture {
  /** XYZ of each dot (Y of white about 1), three to a dot, and its mean residue, µm. */
  readonly xyz: Float32Array;
  readonly residueUm: Float32Array;
  readonly warmestK: number;
}

/** A workshop of a blind world: burns what the piece's machine would, by power as a share of the full one. */
export interface Workshop {
  readonly world: BlindWorld;
  readonly optics: Optics;
  readonly film: FilmField;
  even(filmUm: number, burns: readonly EvenBurn[], across?: number): Across;
  /** Residues beside a lone row: at `asideMm` from it. */
  line(filmUm: number, burn: EvenBurn, asideMm: readonly number[]): Across;
  /** How warm a burn finds a square in its middle rows; `rowMm` is what the beam travels per row. */
  patchWarmK(sideMm: number, burn: Omit<EvenBurn, 'warmK'>, rowMm: number): number;
  picture(
    width: number,
    height: number,
    pitchMm: number,
    passes: readonly PicturePass[],
    at: readonly [number, number],
  ): BurnedPicture;
}

const FULL_W = 10;
/** Rows reach that many radii. */
const REACH = 2.2;
/** Skin counts as touched once so much of it is gone, µm. */
const SKIN_UM = 0.25;
const BIN_MM = 2;
/** What the beam travels beyond a row's ends, mm. */
const TURN_MM = 10;

/** Crossings tabulated so far: films differ from workshop to workshop of a world, matter and beam do not. */
const tabulated = new Map<BlindWorld['matter'], Map<string, TabulatedCrossing>>();

function tablesOf(matter: BlindWorld['matter']): Map<string, TabulatedCrossing> {
  const tables = tabulated.get(matter) ?? new Map<string, TabulatedCrossing>();
  tabulated.set(matter, tables);
  return tables;
}

export function createWorkshop(world: BlindWorld, seed: number, feedMmPerS: number, pitchMm: number): Workshop {
  const { radiusMm, matter } = world;
  const tables = tablesOf(matter);
  const tableOf = (feed: number) => {
    const key = `${radiusMm} ${Math.round(100 * feed)}`;
    let table = tables.get(key);
    if (!table) {
      table = tabulate(matter, radiusMm, feed);
      tables.set(key, table);
    }
    return table;
  };
  const opaque = matter.layers[0].absorptionPerMm / 1000;
  /** Mean share of the light that a film lets through while it goes from one thickness to another. */
  const through = (from: number, to: number) =>
    from - to < 1e-3
      ? Math.exp(-opaque * from)
      : (Math.exp(-opaque * to) - Math.exp(-opaque * from)) / (opaque * (from - to));
  /** Watts at the work per watt of the name plate. */
  let coupling = 1;
  const profile = (asideMm: number) => (Math.sqrt(2 / Math.PI) / radiusMm) * Math.exp(-2 * (asideMm / radiusMm) ** 2);
  const cross = (
    table: TabulatedCrossing,
    filmUm: number,
    startUm: number,
    left: number,
    dose: number,
    warmK: number,
  ) => {
    const skin = left < filmUm - SKIN_UM ? world.touched : 1;
    const dust = left < 0.5 * startUm ? world.debris : 1;
    return table.after(left, coupling * dose * skin * dust, warmK);
  };

  const burnAt = (filmUm: number, burns: readonly EvenBurn[], doses: (burn: EvenBurn) => readonly number[]) => {
    let left = filmUm;
    let excess = 0;
    for (const burn of burns) {
      const table = tableOf(burn.feedMmPerS);
      const start = left;
      for (const dose of doses(burn)) {
        const next = cross(table, filmUm, start, left, dose, burn.warmK);
        excess += dose * through(left, next);
        left = next;
      }
    }
    return [left, excess] as const;
  };
  const gather = (count: number, at: (i: number) => readonly [number, number]): Across => {
    const leftUm = new Float64Array(count);
    const excess = new Float64Array(count);
    for (let i = 0; i < count; i++) [leftUm[i], excess[i]] = at(i);
    return { leftUm, excess };
  };
  const even: Workshop['even'] = (filmUm, burns, across = 9) =>
    gather(across, (i) =>
      burnAt(filmUm, burns, ({ power, feedMmPerS, pitchMm }) => {
        const place = ((i + 0.5) / across - 0.5) * pitchMm;
        const rows = Math.ceil((REACH * radiusMm) / pitchMm);
        return Array.from({ length: 2 * rows + 1 }, (_, r) => Math.abs((r - rows) * pitchMm - place))
          .filter((aside) => aside < REACH * radiusMm)
          .map((aside) => ((FULL_W * power) / feedMmPerS) * profile(aside));
      }),
    );
  // The watts are what makes the world's own film clear where it should.
  const residueAt = (factor: number) => {
    coupling = factor;
    const { leftUm } = even(world.filmUm, [{ power: world.clearsAt, feedMmPerS, pitchMm, warmK: 0 }]);
    return leftUm.reduce((sum, value) => sum + value, 0) / leftUm.length;
  };
  let [low, high] = [0.01, 3];
  for (let i = 0; i < 24; i++) {
    const middle = Math.sqrt(low * high);
    if (residueAt(middle) < 1) high = middle;
    else low = middle;
  }
  coupling = high;

  const absorbed = 1 - matter.layers[0].reflectance;
  const heatPerMm = (power: number, feed: number) => (world.heatShare * absorbed * coupling * FULL_W * power) / feed;
  const film = createFilm(seed, world.slow, world.slowMm, world.fine, world.fineMm);
  const optics = createOptics(world.colors);

  return {
    world,
    optics,
    film,
    even,
    line: (filmUm, burn, asideMm) =>
      gather(asideMm.length, (i) =>
        burnAt(filmUm, [burn], ({ power, feedMmPerS }) => [((FULL_W * power) / feedMmPerS) * profile(asideMm[i])]),
      ),
    patchWarmK(sideMm, { power, feedMmPerS, pitchMm }, rowMm) {
      const rows = Math.round(sideMm / pitchMm);
      const bins = 3;
      const heat = new Float64Array(rows * bins).fill(heatPerMm(power, feedMmPerS));
      const periodS = (rowMm + TURN_MM) / feedMmPerS;
      const warm = warmthOfRows({ heat, bins, binMm: sideMm / bins, pitchMm, periodS, radiusMm });
      return warm[Math.floor(rows / 2) * bins + 1];
    },
    picture(width, height, pitchMm, passes, [leftMm, topMm]) {
      const ACROSS = 5;
      const ALONG = 2;
      const left = new Float32Array(width * height * ACROSS * ALONG);
      const films = new Float32Array(width * height);
      const excess = new Float32Array(left.length);
      for (let i = 0; i < films.length; i++) {
        films[i] =
          world.filmUm * film(leftMm + ((i % width) + 0.5) * pitchMm, topMm + (Math.floor(i / width) + 0.5) * pitchMm);
        left.fill(films[i], i * ACROSS * ALONG, (i + 1) * ACROSS * ALONG);
      }
      const bins = Math.max(1, Math.round((width * pitchMm) / BIN_MM));
      let warmestK = 0;
      for (const { power, feedMmPerS } of passes) {
        const table = tableOf(feedMmPerS);
        const heat = new Float64Array(height * bins);
        for (let i = 0; i < power.length; i++) {
          const bin = Math.min(bins - 1, Math.floor(((i % width) * bins) / width));
          heat[Math.floor(i / width) * bins + bin] += (heatPerMm(power[i], feedMmPerS) * bins) / width;
        }
        const periodS = (width * pitchMm + TURN_MM) / feedMmPerS;
        const warm = warmthOfRows({ heat, bins, binMm: (width * pitchMm) / bins, pitchMm, periodS, radiusMm });
        warmestK = Math.max(warmestK, ...warm);
        const smeared = smear(power, width, height, pitchMm, radiusMm, ALONG);
        const start = left.slice();
        const rows = Math.ceil((REACH * radiusMm) / pitchMm);
        for (let y = 0; y < height; y++) {
          for (let row = Math.max(0, y - rows); row <= Math.min(height - 1, y + rows); row++) {
            for (let k = 0; k < ACROSS; k++) {
              const aside = Math.abs((row - y - (k + 0.5) / ACROSS + 0.5) * pitchMm);
              if (aside >= REACH * radiusMm) continue;
              const perPower = (FULL_W / feedMmPerS) * profile(aside);
              for (let x = 0; x < width; x++) {
                const warmK = warm[row * bins + Math.min(bins - 1, Math.floor((x * bins) / width))];
                for (let a = 0; a < ALONG; a++) {
                  const dose = perPower * smeared[(row * width + x) * ALONG + a];
                  if (dose <= 0) continue;
                  const at = ((y * width + x) * ACROSS + k) * ALONG + a;
                  const next = cross(table, films[y * width + x], start[at], left[at], dose, warmK);
                  excess[at] += dose * through(left[at], next);
                  left[at] = next;
                }
              }
            }
          }
        }
      }
      const xyz = new Float32Array(3 * width * height);
      const residueUm = new Float32Array(width * height);
      const sum = new Float64Array(3);
      const places = ACROSS * ALONG;
      for (let i = 0; i < residueUm.length; i++) {
        sum.fill(0);
        for (let k = 0; k < places; k++) {
          optics.add(left[i * places + k], excess[i * places + k], 1 / places, sum);
          residueUm[i] += left[i * places + k] / places;
        }
        xyz.set(sum, 3 * i);
      }
      return { xyz, residueUm, warmestK };
    },
  };
}

/** Power along the rows as the spot smears it: its Gaussian (standard deviation half a radius) at places within each dot. */
function smear(power: Float32Array, width: number, height: number, pitchMm: number, radiusMm: number, along: number) {
  const out = new Float32Array(width * height * along);
  const reach = Math.ceil((2 * radiusMm) / pitchMm) + 1;
  const kernels = Array.from({ length: along }, (_, a) => {
    const place = (a + 0.5) / along - 0.5;
    const weights = Array.from({ length: 2 * reach + 1 }, (__, d) => {
      let sum = 0;
      for (let s = -4; s <= 4; s++) sum += Math.exp(-2 * (((d - reach + s / 9 - place) * pitchMm) / radiusMm) ** 2);
      return sum;
    });
    const total = weights.reduce((sum, value) => sum + value, 0);
    return weights.map((value) => value / total);
  });
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      for (let a = 0; a < along; a++) {
        let sum = 0;
        for (let d = -reach; d <= reach; d++) {
          const from = x + d;
          if (from >= 0 && from < width) sum += kernels[a][d + reach] * power[y * width + from];
        }
        out[(y * width + x) * along + a] = sum;
      }
    }
  }
  return out;
}
