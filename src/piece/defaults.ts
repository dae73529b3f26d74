import { mmPerMinToMmPerS } from '../base/units.ts';
import {
  type Application,
  type Certainty,
  type Coat,
  DEFAULT_CONTROL,
  DEFAULT_ORDER,
  DEFAULT_QUOTE,
  type Heat,
  type Machine,
  type Pass,
  PIECE_VERSION,
  type Piece,
  type Placement,
  type Repair,
  type Slab,
  type Stack,
  type Tone,
  type Wood,
} from './schema.ts';

/**
 * Woods to start from. Densities at 12 % moisture: basswood 381–415 kg/m³ and lime 490–535 kg/m³ as timber merchants print them (alumber.com,
 * advantagelumber.com; espen.de, timbex.net); the others' from memory. Ring widths, contrasts (diffuse-porous woods 1.1–1.3, conifers 2–3), colours and
 * reliefs are values from memory or estimates; sanded reliefs follow the published order of mean roughness after P150–P180 (4–8
 * µm). Loss of lightness when charred: lime, beech and maple of Kubovský, Kačík & Veľková, BioResources 13(2) 2515–2529 (2018); the
 * rest estimated from the same end colour.
 */
interface Species {
  readonly name: string;
  readonly densityKgPerM3: number;
  readonly colorLab: readonly [number, number, number];
  readonly ringWidthMm: number;
  readonly ringContrast: number;
  readonly ringLightness: number;
  readonly sawnReliefUm: number;
  readonly sandedReliefUm: number;
  readonly lightnessLoss: number;
  readonly absorptance: number;
}

const LIST = [
  species('basswood', 'Basswood', 400, [82, 3, 19], [2.4, 1.15, 2], [20, 3], 50.5, 0.59),
  species('lime', 'Lime', 510, [82, 3.5, 20], [2, 1.2, 2.5], [20, 3], 50.5, 0.59),
  species('birch', 'Birch', 640, [79, 5, 20], [1.8, 1.2, 3], [18, 3], 53, 0.6),
  species('poplar', 'Poplar', 450, [84, 2, 16], [3.5, 1.15, 2], [24, 4], 52, 0.57),
  species('maple', 'Maple', 700, [80, 4.5, 18], [1.8, 1.2, 3.5], [16, 2.5], 56, 0.6),
  species('beech', 'Beech', 710, [72, 8, 20], [2, 1.3, 4], [17, 3], 46.8, 0.66),
  species('pine', 'Pine', 510, [79, 7, 27], [2.5, 2.6, 9], [25, 5], 52, 0.62),
] as const;

function species(
  id: string,
  name: string,
  densityKgPerM3: number,
  colorLab: readonly [number, number, number],
  [ringWidthMm, ringContrast, ringLightness]: readonly [number, number, number],
  [sawnReliefUm, sandedReliefUm]: readonly [number, number],
  lightnessLoss: number,
  absorptance: number,
): Species & { readonly id: string } {
  const rings = { ringWidthMm, ringContrast, ringLightness };
  return { id, name, densityKgPerM3, colorLab, ...rings, sawnReliefUm, sandedReliefUm, lightnessLoss, absorptance };
}

/**
 * Energy to burn a mass of wood away, J/mg: 0.9 and 1.5 J per mm² of cut in southern pine (McMillin & Harry, Forest Products J. 21(10)
 * 35–37, 1971) over a kerf of 0.3 mm (value from memory) are 3.0–5.1 J/mm³ at 0.5 mg/mm³.
 */
const ENERGY_J_PER_MG = 8;

export const SPECIES_NAMES = LIST.map(({ id, name }) => ({ id, name }));

/** A species' wood at 450 nm. @throws RangeError for an id that is not in `SPECIES_NAMES`. */
export function woodOf(id: string): Wood {
  const found = LIST.find((one) => one.id === id);
  if (!found) throw new RangeError(`there is no wood called ${id}`);
  const { id: _, colorLab, ...wood } = found;
  return {
    ...wood,
    colorLab: [...colorLab],
    thresholdJPerMm2: 0.05,
    specificEnergyJPerMm3: Math.round(10 * ENERGY_J_PER_MG * wood.densityKgPerM3 * 1e-3) / 10,
    scorchOnsetJPerMm2: 0.03,
  };
}

/** The species that a wood was taken from, by its name; null if it has another. */
export const speciesOf = (wood: Wood): string | null => LIST.find(({ name }) => name === wood.name)?.id ?? null;

/**
 * The uncalibrated defaults: a dark-brown satin acrylic over an off-white undercoat on lime wood, burned by a 10 W diode at
 * 450 nm. The top coat's threshold is an effective one per crossing and, like its specific energy, fitted to what common
 * practice reports (no published source; test/reference/common-practice.test.ts arrives at both); absorptances after a brown and a white paint (test/reference/paint-spectra.test.ts); the rest are estimates.
 * Calibration replaces all of them.
 */
/** J/mm² incident. */
const EFFECTIVE_THRESHOLD = 0.124;

export const DEFAULT_TOP_COAT: Coat = {
  name: 'Peat',
  colorLab: [29, 3, 4.5],
  scatteringPerMm: 20,
  dryThicknessUm: 25,
  layers: 2,
  volumeSolids: 0.35,
  thinnerShare: 0,
  application: { kind: 'even' },
  slowVariation: 0.06,
  fineVariation: 0.03,
  sandedAfter: false,
  usualLayerUm: [10, 25],
  wantedLab: null,
  gloss60: 25,
  dryHours: 2,
  opticalDepthUm: 0,
  touchedFactor: 1,
  absorptance: 0.93,
  thresholdJPerMm2: 0.93 * EFFECTIVE_THRESHOLD,
  specificEnergyJPerMm3: 11.3,
  scorchOnsetJPerMm2: 10,
};

export const DEFAULT_UNDERCOAT: Coat = {
  name: 'Oat',
  colorLab: [90, 0.5, 8],
  scatteringPerMm: 100,
  dryThicknessUm: 50,
  layers: 4,
  volumeSolids: 0.37,
  thinnerShare: 0,
  application: { kind: 'even' },
  slowVariation: 0.06,
  fineVariation: 0.03,
  sandedAfter: false,
  usualLayerUm: [8, 25],
  wantedLab: null,
  gloss60: 8,
  dryHours: 2,
  opticalDepthUm: 0,
  touchedFactor: 1,
  absorptance: 0.12,
  thresholdJPerMm2: 0.11,
  specificEnergyJPerMm3: 15,
  scorchOnsetJPerMm2: 0.07,
};

/** How each way of putting a coat on starts out; common practice, no published source; wobble, speed and shares are estimates. */
export const DEFAULT_APPLICATIONS: { readonly [Kind in Application['kind']]: Extract<Application, { kind: Kind }> } = {
  even: { kind: 'even' },
  sprayed: {
    kind: 'sprayed',
    fan: 'triangular',
    fanWidthMm: 60,
    overlap: 0.5,
    headingRad: 0,
    wobbleMm: 3,
    speedVariation: 0.06,
    ends: 'outside',
  },
  brushed: {
    kind: 'brushed',
    along: 'width',
    markSpacingMm: 1.5,
    markShare: 0.25,
    viscosityPaS: 5,
    openTimeS: 90,
  },
  poured: { kind: 'poured', beadShare: 0.4, beadWidthMm: 6 },
};

/** The coat with the same thickness everywhere. */
export const evenCoat = (coat: Coat): Coat => ({
  ...coat,
  slowVariation: 0,
  fineVariation: 0,
  application: DEFAULT_APPLICATIONS.even,
});

export const DEFAULT_STACK: Stack = {
  coats: [DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT],
  cureHours: 72,
  film: { shown: 'mean', seed: 1, slowScaleMm: 28, fineScaleMm: 1.2, found: null },
};

export const DEFAULT_MACHINE: Machine = {
  name: 'Shop diode, 10 W',
  source: {
    wavelengthNm: 450,
    fullPowerW: 10,
    spotAcrossMm: 0.1,
    spotAlongMm: 0.1,
    beamQuality: 12,
    firingFloor: 0.02,
    riseTimeS: 0.00005,
    fallTimeS: 0.00005,
    powerCurve: [],
    pulses: null,
  },
  motion: { maxFeedMmPerS: 200, accelerationMmPerS2: 2000, runUpMm: 5, powerAtRamps: 'held' },
  airFlow: 1,
  control: DEFAULT_CONTROL,
};

/** Tone controls that leave the picture alone. */
export const NEUTRAL_TONE: Tone = {
  exposureEv: 0,
  contrast: 0,
  gamma: 1,
  intent: [],
  curve: [],
  unsharpMask: { radiusMm: 0, amount: 0, threshold: 0 },
};

/**
 * Tones for the default stack and pass: the inverse of their tone scale, so that equal steps of the photograph become about
 * equal steps of lightness on the slab. Checked in test/unit/tone-scale.test.ts; another stack wants another curve.
 */
export const DEFAULT_TONE: Tone = {
  ...NEUTRAL_TONE,
  curve: [
    [0, 0],
    [0.125, 0.5],
    [0.25, 0.655],
    [0.375, 0.745],
    [0.5, 0.79],
    [0.625, 0.82],
    [0.75, 0.855],
    [0.875, 0.905],
    [1, 1],
  ],
};

export const DEFAULT_PASS: Pass = {
  lightEndPower: 0.85,
  darkEndPower: 0.08,
  feedMmPerS: mmPerMinToMmPerS(6000),
  rowPitchMm: 0.1,
  headingRad: 0,
  rows: 'two-way',
  rowOffsetErrorMm: 0,
  screen: 'stucki',
  serpentine: true,
  evenPower: false,
  focusOffsetMm: 0,
  tone: null,
  only: null,
};

export const DEFAULT_SLAB: Slab = {
  shape: 'oval',
  widthMm: 300,
  heightMm: 240,
  thicknessMm: 22,
  outlineMm: [],
  wood: woodOf('lime'),
  cut: 'slice',
  edge: 'bark',
  finish: 'sanded',
  pithXMm: 14,
  pithYMm: -9,
  grainSeed: 1,
  knots: [],
  checks: [],
  bowMm: 0,
  domeMm: 0,
  maskedRimMm: 0,
  seepMm: 0,
  photo: null,
};

/** The slab with flat wood of one kind: what a film makes of its ground is nothing. */
export const plainSlab = (slab: Slab): Slab => ({
  ...slab,
  wood: { ...slab.wood, ringContrast: 1, ringLightness: 0, sawnReliefUm: 0, sandedReliefUm: 0 },
  knots: [],
  checks: [],
  maskedRimMm: 0,
});

export const NO_REPAIR: Repair = { cast: 0, fade: 0, localContrast: 0, noise: 0, scratches: 0 };

/** In the middle of a bed of common size. */
export const DEFAULT_PLACEMENT: Placement = {
  bedWidthMm: 400,
  bedHeightMm: 400,
  xMm: 200,
  yMm: 200,
  turnRad: 0,
  clearanceMm: 5,
  pilotPower: 0,
  referenceMark: false,
};

/**
 * Spread of the presets (estimates; calibrate): published specific energies of paint alone lie between 1.5 (Metsios et al., Proc. SPIE 10525,
 * 105250O, 2018) and 12.7 J/mm³ (a trade rule for stripping with pulsed lasers, 2 ft²/min for a kW and a mil), with 3.3 in the blue-green (Brygo et
 * al., Appl. Surf. Sci. 252, 2131, 2006), but the defaults are anchored at common practice, so most of that is excluded.
 */
export const PRESET_CERTAINTY: Certainty = {
  source: 'preset',
  threshold: 0.2,
  specificEnergy: 0.2,
  thickness: 0.12,
  power: 0.05,
  covariance: null,
};

/** Share of the heat that stays is an estimate; calibrate. */
export const DEFAULT_HEAT: Heat = { carryOver: true, retainedShare: 0.3 };

/** A new piece. Give the picture's file name; everything else can be changed later. */
export function createPiece(name: string, pictureFile: string): Piece {
  return {
    format: 'foreburn',
    version: PIECE_VERSION,
    name,
    slab: DEFAULT_SLAB,
    stack: DEFAULT_STACK,
    picture: {
      file: pictureFile,
      widthMm: 276,
      crop: 'oval',
      offsetXMm: 0,
      offsetYMm: 0,
      rotationRad: 0,
      fallOffMm: 0,
      strokes: [],
      matte: null,
      cut: null,
      heals: [],
      rimMm: 0,
      lettering: [],
      repair: NO_REPAIR,
      tone: DEFAULT_TONE,
    },
    machine: DEFAULT_MACHINE,
    passes: [DEFAULT_PASS],
    placement: DEFAULT_PLACEMENT,
    heat: DEFAULT_HEAT,
    certainty: PRESET_CERTAINTY,
    quote: DEFAULT_QUOTE,
    order: DEFAULT_ORDER,
    shelfEntry: null,
    log: [],
  };
}
