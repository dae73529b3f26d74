import type { Lab } from '../../base/color/lab.ts';
import { BAND_COUNT, BAND_START_NM, BAND_STEP_NM, type Spectrum } from '../../base/color/spectrum.ts';
import type { Piece, Source, Stack, Wood } from '../../piece/schema.ts';

/** Thermal time constants of the threshold's scaling; acrylic paint: κ measured 1–3e-7 m²/s (Coelho et al., J. Phys. IV 125, 2005), 1/α estimated. */
const DIFFUSIVITY_MM2_PER_S = 0.11;

const OPTICAL_DEPTH_MM = 0.007;

/** Dwell at which a piece's thresholds hold: 2w/v for w = 0.1 mm at 7000 mm/min. */
export const REFERENCE_DWELL_S = 0.2 / (7000 / 60);

/**
 * How a threshold dose grows with the dwell τ = 2w/v, relative to the reference dwell: heated depth `1/α + ½√(πκτ)`, from the
 * half-space under constant flux (Carslaw & Jaeger 1959, §2.9, value from memory).
 */
export function dwellFactor(dwellS: number): number {
  const heated = (timeS: number) => OPTICAL_DEPTH_MM + 0.5 * Math.sqrt(Math.PI * DIFFUSIVITY_MM2_PER_S * timeS);
  return heated(dwellS) / heated(REFERENCE_DWELL_S);
}

/** Columns of the table of layers. */
export const LAYER_COLUMNS = 6;

/** Table of A, Eth, q, c, δ, g per layer, topmost coat first, wood last, for one pass: `[coats + 1][6]`, row-major; c as in `layers.ts`. */
export function layerTable(
  stack: Stack,
  wood: Wood,
  dwellS: number,
  pulsed: PulsedCrossing | null,
  airFlow: number,
): Float32Array {
  const factor = pulsed ? pulsed.thresholdFactor : dwellFactor(dwellS);
  return Float32Array.from(
    [...stack.coats, wood].flatMap((layer) => [
      layer.absorptance,
      layer.thresholdJPerMm2 * factor,
      layer.specificEnergyJPerMm3 * shieldingFactor(airFlow),
      (pulsed?.depthUm ?? 0) / shieldingFactor(airFlow),
      'opticalDepthUm' in layer ? layer.opticalDepthUm : 0,
      'touchedFactor' in layer ? layer.touchedFactor : 1,
    ]),
  );
}

/**
 * What is left of a burned film when the air does not sweep it off. Gas-assisted removal of paint "usually leaves ashes" and a
 * brittle ash shields the coating unless a strong parallel stream sweeps it (Procedia Eng. 64, 467, 2013; the same found for white
 * chlorinated rubber under a CO2 laser); no numbers are published: shares are estimates, calibrate.
 */
const LEFT_SHARE = 0.06;

/** Specific energy in still air over that in a strong stream. */
const SHIELDING = 0.25;

/** Thickness of ash over a place where so much was removed, µm. */
export const ashUm = (removedUm: number, airFlow: number): number => LEFT_SHARE * (1 - airFlow) * removedUm;

/** Factor on specific energies: ash and smoke take a part of the light. */
export const shieldingFactor = (airFlow: number): number => 1 + SHIELDING * (1 - airFlow);

/** Absorption and scattering of ash, 1/mm: a warm dark grey (estimate). */
export const ASH_SCATTERING = 30;

export const ASH_ABSORPTION: Spectrum = Float64Array.from(
  { length: BAND_COUNT },
  (_, i) => 70 * ((BAND_START_NM + i * BAND_STEP_NM) / 550) ** -1.2,
);

/**
 * Pulsed light. Each pulse takes `d = (1/α_eff)·ln(F / Fth)` where F > Fth (form as in Mannion et al., ablation thresholds of metals;
 * the logarithmic law), with incubation `Fth(N) = Fth·N^(S − 1)` (Jee, Becker & Walser, JOSA B 5, 648, 1988, value from memory).
 *
 * One crossing of a Gaussian beam of radius w along the row lays pulses s = v/f apart, so at a place F falls off as exp(−2x²/w²):
 *   dose of the crossing  D = Σ F = F0·√(π/2)·w/s,
 *   its depth             Σ (1/α)·(L − 2x²/w²) = (4 / (3√2))·(w / (s·α))·L^1.5,  L = ln(F0 / Fth(N)) = ln(D / Dth).
 * Sums are taken as integrals: good from about one pulse per radius on. Checked in test/unit/pulses.test.ts against the sum itself.
 */
interface PulsedCrossing {
  /** Times a layer's threshold for one pulse, J/mm², gives that of a crossing's dose. */
  readonly thresholdFactor: number;
  /** c of `z = c·ln(D / Dth)^1.5`, µm. */
  readonly depthUm: number;
}

/** Threshold after N pulses over that of the first. */
export const incubated = (pulses: number, incubation: number): number => Math.max(1, pulses) ** (incubation - 1);

/** How a crossing answers a pulsed source; null for a continuous one. */
export function pulsedCrossing(source: Source, alongRadiusMm: number, feedMmPerS: number): PulsedCrossing | null {
  const { pulses } = source;
  if (!pulses) return null;
  const perRadius = (alongRadiusMm * pulses.rateHz) / feedMmPerS;
  return {
    thresholdFactor: incubated(2 * perRadius, pulses.incubation) * Math.sqrt(Math.PI / 2) * perRadius,
    depthUm: (4 / (3 * Math.SQRT2)) * perRadius * pulses.depthPerPulseUm,
  };
}

/**
 * Discolouration by dose that is absorbed but removes nothing.
 *
 * Wood: `ΔL* = −50.5 · [1 − exp(−max(0, H − H0) / H1)]`, H1 = 3 H0, C* rising while ΔL* is small. The end value is lime's of
 * Kubovský, Kačík & Veľková, BioResources 13(2) 2515–2529 (2018); the shape is an estimate fitted to the anchor statements
 * there and in Vidholdová et al., BioResources 12(2) 4177 (2017); calibrate.
 */
export const WOOD_LIGHTNESS_LOSS = 50.5;

/** Share of full discolouration, 0–1, for an absorbed dose in J/mm². */
export function scorchLevel(absorbedJPerMm2: number, onsetJPerMm2: number): number {
  const over = absorbedJPerMm2 - onsetJPerMm2;
  return over <= 0 ? 0 : 1 - Math.exp(-over / (3 * Math.max(onsetJPerMm2, 1e-6)));
}

/** Colour of wood charred to a level 0–1; `lightnessLoss` is what its kind loses of L* when black. */
export function charredWood(wood: Lab, level: number, lightnessLoss: number = WOOD_LIGHTNESS_LOSS): Lab {
  const [l, a, b] = wood;
  const drop = lightnessLoss * level;
  // Browner first (ΔL* around −20), a warm black at the end; nothing at all where nothing is charred.
  const begun = 1 - Math.exp(-drop / 4);
  const chroma = 1 + 0.6 * begun * Math.exp(-(((drop - 20) / 12) ** 2)) - 0.72 * level * level;
  return [
    Math.max(8, l - drop),
    a * chroma + begun * (0.6 * level + 4 * Math.exp(-(((drop - 22) / 12) ** 2))),
    b * chroma,
  ];
}

/**
 * Absorption in 1/mm that scorching adds to a coat: it yellows first (blue is lost), then browns as the rest of the light goes too
 * (estimate; calibrate). `level` 0–1.
 */
export function scorchAbsorption(level: number, wavelengthNm: number): number {
  const yellow = 80 * level * Math.exp(-(wavelengthNm - 400) / 110);
  const brown = 60 * level ** 3 * Math.exp(-(wavelengthNm - 400) / 260);
  return yellow + brown;
}

/**
 * Relations that turn marks into thresholds. Sources: J. M. Liu, Opt. Lett. 7, 196 (1982) (value from memory); method as in
 * Garcia-Lechuga & Grojo, Open Research Europe 1:7 (2021); the line form is derived the same way from the line dose.
 */

/** Diameter of the mark of one pulse, `D² = 2 w0² ln(F0 / Fth)`; mm, 0 below the threshold. */
export function pulseMarkDiameterMm(waistMm: number, peak: number, threshold: number): number {
  return peak <= threshold ? 0 : waistMm * Math.sqrt(2 * Math.log(peak / threshold));
}

/**
 * Typical absorptances at the wavelengths of common sources. Calibration replaces them.
 *
 * Dark coat and light coat at 450 nm: brown and white matt paint of the test-chart averages "dark skin" and "white 9.5" (BabelColor),
 * A = 1 − R; the white at 405 nm likewise, on the steep edge of titanium dioxide between R(400) = 0.423 and R(410) = 0.660. At
 * 10.6 µm: emissivity 0.92–0.94 of sprayed lacquers and 0.90 of planed oak, 8–14 µm (FLIR, user's manual, emissivity table 35.1; Kirchhoff's law). At
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
