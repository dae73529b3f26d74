import { burnsAt, type CoarseScene } from '../../burn/tone-scale.ts';
import { adjustedLightness } from '../../image/tone.ts';
import type { Piece } from '../../piece/schema.ts';

export const TONE_BINS = 128;

/** What the choice needs to know of the picture on the slab, whatever the settings. */
export interface Facts {
  /** Places by lightness after exposure and contrast, even bins from black to white, summing to 1. */
  readonly tones: Float64Array;
  /** A handful of film thicknesses over the mean, rising, and the share of the picture that is nearest to each. */
  readonly films: readonly number[];
  readonly filmShares: readonly number[];
  /** Lightness (L*) that the picture's detail differs by from one octave of size to the next, root mean square. */
  readonly octaveL: number;
  /** The box of what burns along and across the rows, and per bin across: the extent along, mm; `end ≤ first` for none. */
  readonly rowsMm: { readonly binMm: number; readonly first: Float64Array; readonly end: Float64Array };
  readonly areaMm2: number;
}

const FILM_QUANTILES = [0.004, 0.05, 0.15, 0.3, 0.5, 0.7, 0.85, 0.95, 0.996];
const EXTENT_BINS = 400;

export function factsOf(piece: Piece, scene: CoarseScene): Facts {
  const places: number[] = [];
  for (let i = 0; i < scene.lightness.length; i++) if (burnsAt(scene, i)) places.push(i);
  const tones = tonesOf(piece, scene, places);
  const { width, height, pitchMm } = scene;
  return {
    tones,
    ...filmsOf(scene, places),
    octaveL: octaveOf(scene),
    rowsMm: extents(piece, scene, places),
    areaMm2: width * height * pitchMm * pitchMm,
  };
}

function tonesOf(piece: Piece, { lightness }: CoarseScene, places: readonly number[]): Float64Array {
  const tone = { ...piece.picture.tone, gamma: 1, curve: [] };
  const adjust = adjustedLightness(tone);
  const bins = new Float64Array(TONE_BINS);
  const table = Float64Array.from({ length: 1025 }, (_, i) => adjust(i / 1024));
  for (const i of places) {
    const value = table[Math.round(1024 * Math.min(1, Math.max(0, lightness[i])))];
    bins[Math.min(TONE_BINS - 1, Math.floor(value * TONE_BINS))] += 1 / places.length;
  }
  return bins;
}

/** Nodes at quantiles of the film; each place counts for the two nodes it lies between. */
function filmsOf({ ground: { film } }: CoarseScene, places: readonly number[]) {
  const coated = Float32Array.from(places, (i) => film[i])
    .filter((value) => value > 0)
    .sort();
  if (coated.length === 0) return { films: [1], filmShares: [1] };
  const at = (share: number) => coated[Math.min(coated.length - 1, Math.floor(share * coated.length))];
  const films = FILM_QUANTILES.map(at).filter((value, i, all) => i === 0 || value > all[i - 1] + 0.004);
  const shares = films.map(() => 0);
  for (const value of coated) {
    let above = 1;
    while (above < films.length - 1 && films[above] < value) above++;
    if (films.length === 1) shares[0] += 1 / coated.length;
    else {
      const t = Math.min(1, Math.max(0, (value - films[above - 1]) / (films[above] - films[above - 1])));
      shares[above - 1] += (1 - t) / coated.length;
      shares[above] += t / coated.length;
    }
  }
  return { films, filmShares: shares };
}

/**
 * How much the picture differs from one of half its resolution. Photographs have about as much of it in every octave (D. J. Field, J. Opt.
 * Soc. Am. A 4, 2379, 1987: spectra fall with the square of frequency; value from memory), so that it stands for finer ones.
 */
function octaveOf({ lightness, width, height }: CoarseScene): number {
  let squares = 0;
  let count = 0;
  for (let y = 0; y + 1 < height; y += 2) {
    for (let x = 0; x + 1 < width; x += 2) {
      const i = y * width + x;
      const four = [lightness[i], lightness[i + 1], lightness[i + width], lightness[i + width + 1]];
      const mean = (four[0] + four[1] + four[2] + four[3]) / 4;
      for (const value of four) squares += (value - mean) ** 2;
      count += 4;
    }
  }
  return count > 0 ? 100 * Math.sqrt(squares / count) : 0;
}

/** From where to where each band of rows burns, along the rows of the first pass. */
function extents(piece: Piece, { width, pitchMm, height }: CoarseScene, places: readonly number[]): Facts['rowsMm'] {
  const heading = piece.passes[0].headingRad;
  const cosine = Math.cos(heading);
  const sine = Math.sin(heading);
  const halfMm = (pitchMm * Math.hypot(width, height)) / 2;
  const binMm = (2 * halfMm) / EXTENT_BINS;
  const first = new Float64Array(EXTENT_BINS).fill(Number.POSITIVE_INFINITY);
  const end = new Float64Array(EXTENT_BINS).fill(Number.NEGATIVE_INFINITY);
  for (const i of places) {
    const x = ((i % width) + 0.5 - width / 2) * pitchMm;
    const y = (Math.floor(i / width) + 0.5 - height / 2) * pitchMm;
    const along = x * cosine + y * sine;
    const bin = Math.min(EXTENT_BINS - 1, Math.max(0, Math.floor((y * cosine - x * sine + halfMm) / binMm)));
    first[bin] = Math.min(first[bin], along - pitchMm / 2);
    end[bin] = Math.max(end[bin], along + pitchMm / 2);
  }
  return { binMm, first, end };
}
