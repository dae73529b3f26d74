import type { Lab } from '../../base/color/lab.ts';

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
