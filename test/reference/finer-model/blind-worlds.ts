import { luck } from './film.ts';
import type { StackSpectrum } from './optics.ts';
import { CLEAR_WORLD, type FineLayer, SMOKY_WORLD, type World } from './world.ts';

/**
 * Workshops that the engine has not seen: matter, light, film, beam and colours of each are its own. None of it was fitted to the engine nor the
 * engine to it. Values are estimates within what `world.ts` gives as plausible.
 */
export interface BlindWorld {
  readonly name: string;
  readonly matter: World;
  readonly radiusMm: number;
  /** Mean film, µm; its slow and fine variation (standard deviations over the mean) and their scales, mm. */
  readonly filmUm: number;
  readonly slow: number;
  readonly slowMm: number;
  readonly fine: number;
  readonly fineMm: number;
  /** Factor on the light that skin takes up once a crossing has touched it: roughened and half charred. */
  readonly touched: number;
  /** Factor on it where more than half of the film has gone in the pass: debris of this very pass lies there. */
  readonly debris: number;
  /** Share of the light taken up that stays in the slab as heat. */
  readonly heatShare: number;
  /** Set power, share of the full one, at which an even film of this thickness just clears: 1 µm left on average. */
  readonly clearsAt: number;
  readonly colors: StackSpectrum;
}

const withTop = (world: World, more: Partial<FineLayer>, smoke: Partial<World> = {}): World => ({
  ...world,
  ...smoke,
  layers: world.layers.map((layer, i) => (i === 0 ? { ...layer, ...more } : layer)),
});

export const BLIND_WORLDS: readonly BlindWorld[] = [
  {
    // Clears lower than the preset, in clean air, under a tight beam.
    name: 'clear',
    matter: withTop(CLEAR_WORLD, { reflectance: 0.1, absorptionPerMm: 170 }),
    radiusMm: 0.084,
    filmUm: 22,
    slow: 0.05,
    slowMm: 45,
    fine: 0.025,
    fineMm: 3,
    touched: 1.04,
    debris: 1,
    heatShare: 0.22,
    clearsAt: 0.37,
    colors: {
      top: { absorptionPerMm: 150, absorptionPower: 1.1, scatteringPerMm: 17, scatteringPower: 0.5 },
      under: { absorptionPerMm: 0.6, absorptionPower: 4, scatteringPerMm: 95, scatteringPower: 0.7 },
      underUm: 55,
      inner: 0.58,
      scorchDose: 1.6,
    },
  },
  {
    // Smoke in the beam, the kinetics of a thermogram, a wide beam.
    name: 'smoky',
    matter: withTop(SMOKY_WORLD, { reflectance: 0.06, absorptionPerMm: 95 }, { smokePerMm: 25 }),
    radiusMm: 0.117,
    filmUm: 27,
    slow: 0.07,
    slowMm: 60,
    fine: 0.03,
    fineMm: 3,
    touched: 1,
    debris: 0.94,
    heatShare: 0.055,
    clearsAt: 0.56,
    colors: {
      top: { absorptionPerMm: 210, absorptionPower: 0.5, scatteringPerMm: 26, scatteringPower: 1 },
      under: { absorptionPerMm: 0.35, absorptionPower: 3, scatteringPerMm: 110, scatteringPower: 0.4 },
      underUm: 48,
      inner: 0.6,
      scorchDose: 2.2,
    },
  },
  {
    // Decomposes over a wide range of heat, so that its onset is soft; touched skin gives way; light leaks through what is thin.
    name: 'soft',
    matter: withTop(
      CLEAR_WORLD,
      {
        reflectance: 0.14,
        absorptionPerMm: 115,
        conductivity: 2.8e-4,
        activationK: 11500,
        // As fast at 420 °C as the clear world is at 380 °C.
        frequencyPerS: 1000 * Math.exp(11500 / 693),
        decompositionHeat: 1.7,
      },
      { smokePerMm: 8, smokeStaysS: 0.001 },
    ),
    radiusMm: 0.1,
    filmUm: 30,
    slow: 0.04,
    slowMm: 35,
    fine: 0.02,
    fineMm: 2.5,
    touched: 1.1,
    debris: 0.97,
    heatShare: 0.125,
    clearsAt: 0.5,
    colors: {
      top: { absorptionPerMm: 120, absorptionPower: 1.6, scatteringPerMm: 14, scatteringPower: 0.8 },
      under: { absorptionPerMm: 0.5, absorptionPower: 5, scatteringPerMm: 85, scatteringPower: 0.6 },
      underUm: 60,
      inner: 0.55,
      scorchDose: 1.2,
    },
  },
  {
    // Hot kinetics under little smoke, thin film: most of the dose is threshold.
    name: 'hot',
    matter: withTop(SMOKY_WORLD, { reflectance: 0.08, absorptionPerMm: 140, conductivity: 3e-4 }, { smokePerMm: 6 }),
    radiusMm: 0.106,
    filmUm: 24,
    slow: 0.08,
    slowMm: 50,
    fine: 0.025,
    fineMm: 2.5,
    touched: 1.06,
    debris: 1,
    heatShare: 0.09,
    clearsAt: 0.44,
    colors: {
      top: { absorptionPerMm: 170, absorptionPower: 0.9, scatteringPerMm: 22, scatteringPower: 0.6 },
      under: { absorptionPerMm: 0.45, absorptionPower: 3.5, scatteringPerMm: 100, scatteringPower: 0.5 },
      underUm: 50,
      inner: 0.59,
      scorchDose: 1.8,
    },
  },
];

/**
 * A workshop whose numbers are drawn, evenly within ranges that span the four above and some more: nothing was ever chosen in view of what comes out
 * of it.
 */
export function drawnWorld(seed: number): BlindWorld {
  const next = luck(7919 * seed + 13);
  const within = (low: number, high: number) => low + (high - low) * next();
  const activationK = within(11500, 23000);
  /** Temperature at which it decomposes within a millisecond, K. */
  const quickK = 273 + within(380, 650);
  const matter = withTop(
    CLEAR_WORLD,
    {
      reflectance: within(0.05, 0.15),
      absorptionPerMm: within(80, 180),
      conductivity: within(1.8e-4, 4e-4),
      activationK,
      frequencyPerS: 1000 * Math.exp(activationK / quickK),
      decompositionHeat: within(1.2, 2.1),
    },
    { smokePerMm: within(0, 30), smokeStaysS: within(0.001, 0.002) },
  );
  return {
    name: `drawn-${seed}`,
    matter,
    radiusMm: within(0.08, 0.12),
    filmUm: within(20, 32),
    slow: within(0.04, 0.08),
    slowMm: within(35, 60),
    fine: within(0.02, 0.03),
    fineMm: within(2.5, 3.5),
    touched: within(1, 1.1),
    debris: within(0.94, 1),
    heatShare: within(0.05, 0.25),
    clearsAt: within(0.35, 0.6),
    colors: {
      top: {
        absorptionPerMm: within(110, 220),
        absorptionPower: within(0.5, 1.6),
        scatteringPerMm: within(13, 27),
        scatteringPower: within(0.5, 1),
      },
      under: {
        absorptionPerMm: within(0.3, 0.6),
        absorptionPower: within(3, 5),
        scatteringPerMm: within(80, 115),
        scatteringPower: within(0.4, 0.7),
      },
      underUm: within(45, 62),
      inner: within(0.55, 0.6),
      scorchDose: within(1.2, 2.3),
    },
  };
}

/** Two drawn ones, kept apart from those in view of which the law was chosen. */
export const FRESH_WORLDS: readonly BlindWorld[] = [drawnWorld(1), drawnWorld(2)];
