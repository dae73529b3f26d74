import { linearRgbToLab } from '../../base/color/lab.ts';
import { LIGHT_AREA_LIGHTNESS } from '../../burn/clearing.ts';
import { binsOf, countBins, inBins, meanOver } from '../../burn/coarse.ts';
import type { SwathRunner } from '../../burn/runner.ts';
import {
  burnsAt,
  burnToneScale,
  type CoarseScene,
  TONE_SCALE_DEFAULTS,
  type ToneScale,
  toneScaleAt,
} from '../../burn/tone-scale.ts';
import { adjustedLightness } from '../../image/tone.ts';
import type { AppearanceTable } from '../../physics/material/appearance.ts';
import { NEUTRAL_TONE } from '../../piece/defaults.ts';
import type { Piece, Tone } from '../../piece/schema.ts';

/** What becomes of the light areas, by even patches over how light they are and how thick the film is there. Shares of the light areas. */
export interface LightOutlook {
  readonly uncleared: number;
  readonly residueUm: number;
  readonly scorched: number;
}

/** What becomes of the whole picture. */
export interface WholeOutlook {
  readonly scale: ToneScale;
  /** Share of the picture that scorches. */
  readonly scorched: number;
  /** L* of each tone of the scale on the mean film. */
  readonly lightness: readonly number[];
}

interface OutlookOptions {
  /** The film as thick as its mean everywhere. */
  readonly evenFilm?: boolean;
  readonly warmthsK?: readonly number[];
}

/** Tries other settings of a piece on the picture and film it has. */
export interface Outlooks {
  light(piece: Piece, options?: OutlookOptions): Promise<LightOutlook>;
  whole(piece: Piece, options?: OutlookOptions): Promise<WholeOutlook>;
  /** L* of `OUTLOOK_TONES` even steps of the photo on the mean film. */
  lightness(piece: Piece, warmthsK?: readonly number[]): Promise<readonly number[]>;
}

export const OUTLOOK_TONES = TONE_SCALE_DEFAULTS.tones;
const LIGHT_TONES = 4;
/** Just below the light areas, so that their lower edge lies between patches. */
const LIGHT_FROM = LIGHT_AREA_LIGHTNESS - 0.02;
const FILM_STEPS = 7;
const BINS = 24;

export function createOutlooks(
  scene: CoarseScene,
  appearance: AppearanceTable,
  runner: SwathRunner,
  warmthsK: readonly number[],
): Outlooks {
  const range = filmRange(scene);
  const films = Array.from(
    { length: FILM_STEPS },
    (_, i) => range.low + ((range.high - range.low) * i) / (FILM_STEPS - 1),
  );
  const all = countBins(binsOf(scene));

  /** Light places by prepared lightness and film, `film · BINS + tone`. */
  function lightPlaces(tone: Tone): Float64Array {
    const burned = adjustedLightness(tone);
    const curve = Float32Array.from({ length: 1025 }, (_, i) => burned(i / 1024));
    const counts = new Float64Array(BINS * BINS);
    for (let i = 0; i < scene.lightness.length; i++) {
      if (!burnsAt(scene, i) || scene.ground.film[i] === 0) continue;
      const prepared = curve[Math.round(1024 * scene.lightness[i])];
      if (prepared < LIGHT_AREA_LIGHTNESS) continue;
      const t = Math.round(((prepared - LIGHT_FROM) / (1 - LIGHT_FROM)) * (BINS - 1));
      const f = Math.round(((scene.ground.film[i] - range.low) / (range.high - range.low)) * (BINS - 1));
      counts[Math.min(BINS - 1, Math.max(0, f)) * BINS + t]++;
    }
    return counts;
  }
  let places: { key: string; counts: Float64Array } | null = null;

  async function light(piece: Piece, options: OutlookOptions = {}): Promise<LightOutlook> {
    const key = JSON.stringify(piece.picture.tone);
    if (places?.key !== key) places = { key, counts: lightPlaces(piece.picture.tone) };
    const tone: Tone = {
      ...NEUTRAL_TONE,
      curve: [
        [0, LIGHT_FROM],
        [1, 1],
      ],
    };
    const lit: Piece = {
      ...piece,
      picture: { ...piece.picture, tone },
      passes: piece.passes.map((pass) => (pass.tone ? { ...pass, tone } : pass)),
    };
    const scale = await burnToneScale(lit, appearance, runner, options.warmthsK ?? warmthsK, {
      ...TONE_SCALE_DEFAULTS,
      tones: LIGHT_TONES,
      films: options.evenFilm ? [0.999, 1.001] : films,
    });
    return weigh(scale, places.counts);
  }

  async function whole(piece: Piece, options: OutlookOptions = {}): Promise<WholeOutlook> {
    const scale = await burnToneScale(piece, appearance, runner, options.warmthsK ?? warmthsK);
    const lightness = lightnessOf(scale, TONE_SCALE_DEFAULTS.films.indexOf(1));
    return { scale, scorched: meanOver(inBins(scale, scale.scorchedShare), all), lightness };
  }

  const lightness = async (piece: Piece, warmths: readonly number[] = warmthsK) =>
    lightnessOf(await burnToneScale(piece, appearance, runner, warmths, { ...TONE_SCALE_DEFAULTS, films: [1] }), 0);
  return { light, whole, lightness };
}

/** L* of each tone on one of a scale's films. */
export const lightnessOf = ({ tones, rgb }: ToneScale, film: number): number[] =>
  tones.map((_, i) => {
    const at = 3 * (film * tones.length + i);
    return linearRgbToLab([rgb[at], rgb[at + 1], rgb[at + 2]])[0];
  });

function weigh(scale: ToneScale, counts: Float64Array): LightOutlook {
  const sums = { uncleared: 0, residueUm: 0, scorched: 0 };
  let total = 0;
  for (let i = 0; i < counts.length; i++) {
    if (counts[i] === 0) continue;
    const at = toneScaleAt(scale, (i % BINS) / (BINS - 1), Math.floor(i / BINS) / (BINS - 1));
    total += counts[i];
    sums.uncleared += counts[i] * at(scale.uncleared);
    sums.residueUm += counts[i] * at(scale.residueUm);
    sums.scorched += counts[i] * at(scale.scorchedShare);
  }
  const per = total > 0 ? 1 / total : 0;
  return { uncleared: sums.uncleared * per, residueUm: sums.residueUm * per, scorched: sums.scorched * per };
}

/** Thinnest and thickest film over its mean, lone extremes left out. */
function filmRange(scene: CoarseScene): { low: number; high: number } {
  const { film } = scene.ground;
  // Every seventh place is enough to know them.
  const burned = film.filter((thickness, i) => i % 7 === 0 && thickness > 0 && burnsAt(scene, i)).sort();
  if (burned.length === 0) return { low: 0.99, high: 1.01 };
  const at = (share: number) => burned[Math.min(burned.length - 1, Math.floor(share * burned.length))];
  return { low: Math.min(0.99, at(0.002)), high: Math.max(1.01, at(0.998)) };
}
