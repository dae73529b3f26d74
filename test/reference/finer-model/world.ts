/**
 * The matter of the finer model: a stack of layers, each with its own heat, light and kinetics. Units: mm, s, W, J, K.
 * Nothing here is shared with the engine; this folder stands in for a slab that the engine has not seen.
 */
export interface FineLayer {
  readonly thicknessMm: number;
  readonly cells: number;
  /** Each cell's thickness over that of the one above. */
  readonly growth: number;
  readonly conductivity: number;
  readonly volumetricHeat: number;
  /** Share of the light arriving at the layer that is turned back, and how much it takes up of the rest per mm. */
  readonly reflectance: number;
  readonly absorptionPerMm: number;
  /** `dφ/dt = −φ·frequency·exp(−activation/T)`, φ the share of the mass still there; activation is Ea/R. Frequency 0: inert. */
  readonly frequencyPerS: number;
  readonly activationK: number;
  /** Heat that decomposing takes, J/mm³. */
  readonly decompositionHeat: number;
}

export interface World {
  readonly layers: readonly FineLayer[];
  /** Light lost in the smoke: transmission exp(−smoke · depth that went up in it and is still in the beam), 1/mm. */
  readonly smokePerMm: number;
  /** How long smoke stays in the beam, s. */
  readonly smokeStaysS: number;
  readonly startK: number;
}

const GAS_CONSTANT = 8.314462618;
/** Ea of acrylic resin in water-based paint, 173–226 kJ/mol: J. Therm. Anal. Calorim. 88(3) 669–672 (2007). */
const ACTIVATION_K = 190e3 / GAS_CONSTANT;
const DECOMPOSITION_K = 273.15 + 380;

/** Frequency so that the reaction runs at `rate` per second at 380 °C. */
const frequencyFor = (rate: number): number => rate * Math.exp(ACTIVATION_K / DECOMPOSITION_K);

/** At a rate of 1/ms at 380 °C it decomposes there within the time of a crossing (estimate). */
const AT_MILLISECONDS = frequencyFor(1000);
/**
 * What a thermogram that peaks at 380 °C (range of acrylics 330–420 °C, value from memory) at 10 K/min says: H. E. Kissinger, Anal. Chem.
 * 29 (1957) 1702 (value from memory), `frequency·exp(−Ea/RT) = heating rate·Ea/(R T²)`. A crossing then decomposes at 700–800 °C.
 */
const AT_A_THERMOGRAM = frequencyFor(((10 / 60) * ACTIVATION_K) / DECOMPOSITION_K ** 2);

interface Binder {
  readonly frequencyPerS: number;
  readonly decompositionJPerMg: number;
  readonly conductivity: number;
  readonly absorptionPerMm: number;
}

/** Dark coat 25 µm over 50 µm of white over wood. Densities, heats and optical depths are values from memory or estimates. */
function stackOf({ frequencyPerS, decompositionJPerMg, conductivity, absorptionPerMm }: Binder): readonly FineLayer[] {
  const acrylic = { activationK: ACTIVATION_K, frequencyPerS, growth: 1, conductivity };
  return [
    {
      ...acrylic,
      thicknessMm: 0.025,
      cells: 50,
      volumetricHeat: 1.3 * 1.4e-3,
      reflectance: 0.07,
      absorptionPerMm,
      decompositionHeat: 1.3 * decompositionJPerMg,
    },
    {
      ...acrylic,
      thicknessMm: 0.05,
      cells: 20,
      volumetricHeat: 1.5 * 1.2e-3,
      reflectance: 0.88,
      absorptionPerMm: 50,
      decompositionHeat: 1.5 * decompositionJPerMg,
    },
    {
      thicknessMm: 0.4,
      cells: 16,
      growth: 1.25,
      conductivity: 1e-4,
      volumetricHeat: 5.9e-4,
      reflectance: 0.4,
      absorptionPerMm: 15,
      frequencyPerS: 0,
      activationK: 0,
      decompositionHeat: 0,
    },
  ];
}

/**
 * Decomposes near 380 °C in milliseconds, clear air; 1.0 J/mg to decompose (value from memory for PMMA: 1.0–1.6). Its diffusivity, 0.11
 * mm²/s, and optical depth, 6.7 µm, happen to be those that the engine assumes for every paint.
 */
export const CLEAR_WORLD: World = {
  layers: stackOf({
    frequencyPerS: AT_MILLISECONDS,
    decompositionJPerMg: 1,
    conductivity: 2e-4,
    absorptionPerMm: 150,
  }),
  smokePerMm: 0,
  smokeStaysS: 1,
  startK: 293,
};

/**
 * Kinetics of a thermogram; diffusivity 0.22 mm²/s (measured range of acrylic spray paints 0.1–0.3: Coelho et al., J. Phys. IV France 125,
 * 2005, 519–522) and optical depth 12.5 µm, neither as the engine assumes; and smoke: 25 µm of it take 63 % of the light (estimate). That
 * paint costs more energy the more line energy it gets is published, and smoke is named as the cause ("Effect of laser operating mode in
 * paint removal with a fiber laser", Appl. Surf. Sci. 264, 2013, 892–901).
 */
export const SMOKY_WORLD: World = {
  layers: stackOf({
    frequencyPerS: AT_A_THERMOGRAM,
    decompositionJPerMg: 1.6,
    conductivity: 4e-4,
    absorptionPerMm: 80,
  }),
  smokePerMm: 40,
  smokeStaysS: 0.002,
  startK: 293,
};
