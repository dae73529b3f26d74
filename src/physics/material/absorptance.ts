import type { Lab } from '../../base/color/lab.ts';
import type { Piece } from '../../piece/schema.ts';

/**
 * Typical absorptances at the wavelengths of common sources. Calibration replaces them.
 *
 * Dark coat and light coat at 450 nm: brown and white matt paint of the test-chart averages "dark skin" and "white 9.5" (BabelColor),
 * A = 1 − R; the white at 405 nm likewise, on the steep edge of titanium dioxide between R(400) = 0.423 and R(410) = 0.660. At
 * 10.6 µm: emissivity 0.92–0.94 of sprayed lacquers and 0.90 of planed oak, 8–14 µm (thermography tables; Kirchhoff's law). At
 * 532 and 1064 nm: values from memory. Pale wood at 405–532 nm: estimates in the order of Fukuta et al., J. Wood Sci. 62
 * (2016).
 */
const TABLE: readonly { readonly nm: number; readonly dark: number; readonly light: number; readonly wood: number }[] =
  [
    { nm: 405, dark: 0.94, light: 0.46, wood: 0.7 },
    { nm: 450, dark: 0.938, light: 0.116, wood: 0.59 },
    { nm: 532, dark: 0.92, light: 0.1, wood: 0.45 },
    { nm: 1064, dark: 0.6, light: 0.12, wood: 0.35 },
    { nm: 10600, dark: 0.93, light: 0.93, wood: 0.9 },
  ];

/** Lightness L* at which a coat counts as wholly dark and wholly light. */
const DARK_LIGHTNESS = 38;
const LIGHT_LIGHTNESS = 90;

function interpolate(nm: number, kind: 'dark' | 'light' | 'wood'): number {
  const at = Math.min(Math.max(nm, TABLE[0].nm), TABLE[TABLE.length - 1].nm);
  const above = Math.max(
    1,
    TABLE.findIndex((row) => row.nm >= at),
  );
  const [low, high] = [TABLE[above - 1], TABLE[above]];
  const share = Math.log(at / low.nm) / Math.log(high.nm / low.nm);
  return low[kind] + (high[kind] - low[kind]) * share;
}

/**
 * Typical absorptance of a coat of a colour: between the dark and the light coat by its lightness; between the tabulated wavelengths
 * linear in the logarithm; beyond them the nearest one's.
 */
export function coatAbsorptance(color: Lab, wavelengthNm: number): number {
  const share = Math.min(1, Math.max(0, (color[0] - DARK_LIGHTNESS) / (LIGHT_LIGHTNESS - DARK_LIGHTNESS)));
  const dark = interpolate(wavelengthNm, 'dark');
  return dark + (interpolate(wavelengthNm, 'light') - dark) * share;
}

/** Typical absorptance of pale wood that is not charred. */
export const woodAbsorptance = (wavelengthNm: number): number => interpolate(wavelengthNm, 'wood');

/** The piece with typical absorptances of every coat and of the wood for its source's wavelength. */
export function withTypicalAbsorptances(piece: Piece): Piece {
  const { wavelengthNm } = piece.machine.source;
  const round = (value: number) => Math.round(1000 * value) / 1000;
  return {
    ...piece,
    stack: {
      ...piece.stack,
      coats: piece.stack.coats.map((coat) => ({
        ...coat,
        absorptance: round(coatAbsorptance(coat.colorLab, wavelengthNm)),
      })),
    },
    slab: { ...piece.slab, wood: { ...piece.slab.wood, absorptance: round(woodAbsorptance(wavelengthNm)) } },
  };
}
