import { lightnessToLuminance, luminanceToLightness } from '../image/lightness.ts';
import { ALL_DARK, ALL_LIGHT, type DotModel } from './dot-model.ts';

/** What a pass's dots are placed by. */
export interface DotWork {
  readonly model: DotModel;
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  /** The picture in the pass's raster, its mask, and the luminances that even steps of its lightness ask of the slab, see `aimAt`. */
  readonly lightness: Float32Array;
  readonly mask: Uint8Array;
  readonly aims: Float32Array;
  readonly twoWay: boolean;
  /** Whether the dark and the light end let light out: a row without any is not travelled. */
  readonly fires: readonly [dark: boolean, light: boolean];
  /** Which of the model's warmths a row finds: `[row · parts + part]`, parts of the row of equal length. */
  readonly warmth: Uint8Array;
  readonly parts: number;
}

/** Dots by the burn, placed in one sweep, and what they were placed by. */
export interface PlacedDots {
  readonly work: DotWork;
  readonly levels: Uint8Array;
  /** 1 where a row is travelled from its end to its start. */
  readonly backwards: Uint8Array;
}

/** Lightnesses, 0–1, of the darkest and the lightest that a pass shows, at a middling warmth; whichever end of the power it is. */
export function shownRange({ luminance, warmthsK, sway }: DotModel): { darkest: number; lightest: number } {
  const mean = (pattern: number) => {
    const middle = Math.floor(warmthsK.length / 2);
    const tables = sway.map((_, direction) => luminance[direction * warmthsK.length + middle]);
    return luminanceToLightness(tables.reduce((sum, table) => sum + table[pattern] / tables.length, 0));
  };
  const ends = [mean(ALL_DARK), mean(ALL_LIGHT)];
  return { darkest: Math.min(...ends), lightest: Math.max(...ends) };
}

const AIM_STEPS = 4096;

/** Even steps of the picture's lightness as even steps of the slab's. */
export function aimsOf(model: DotModel): Float32Array {
  const { darkest, lightest } = shownRange(model);
  return Float32Array.from({ length: AIM_STEPS + 1 }, (_, i) =>
    lightnessToLuminance(darkest + ((lightest - darkest) * i) / AIM_STEPS),
  );
}

/** Luminance that is wanted of a dot's cell (Y, 0–1); where the picture fades out it fades to the darkest. */
export function aimAt({ lightness, mask, aims }: DotWork, dot: number): number {
  const full = aims[(lightness[dot] * AIM_STEPS + 0.5) | 0];
  return mask[dot] === 255 ? full : aims[0] + ((full - aims[0]) * mask[dot]) / 255;
}
