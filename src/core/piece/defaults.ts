import { NEUTRAL_TONE } from '../image/tone.ts';
import { mmPerMinToMmPerS } from '../units.ts';
import { type Coat, type Machine, type Pass, PIECE_VERSION, type Piece, type Slab, type Stack, type Wood } from './schema.ts';

/**
 * The uncalibrated defaults: a dark-brown satin acrylic over an off-white undercoat on lime wood, burned by a 10 W diode at
 * 450 nm. Thresholds are effective ones per crossing (0.12 J/mm² incident), fitted to what common practice reports (no
 * published source); absorptances after brown and white paint of published reflectance tables; the rest are estimates.
 * Calibration replaces all of them.
 */
const EFFECTIVE_THRESHOLD_INCIDENT = 0.12;

export const DEFAULT_TOP_COAT: Coat = {
  name: 'Peat',
  colorLab: [29, 3, 4.5],
  scatteringPerMm: 20,
  dryThicknessUm: 25,
  slowVariation: 0.08,
  fineVariation: 0.04,
  gloss60: 25,
  absorptance: 0.93,
  thresholdJPerMm2: 0.93 * EFFECTIVE_THRESHOLD_INCIDENT,
  specificEnergyJPerMm3: 12,
  scorchOnsetJPerMm2: 10,
};

export const DEFAULT_UNDERCOAT: Coat = {
  name: 'Oat',
  colorLab: [90, 0.5, 8],
  scatteringPerMm: 100,
  dryThicknessUm: 50,
  slowVariation: 0.08,
  fineVariation: 0.04,
  gloss60: 8,
  absorptance: 0.12,
  thresholdJPerMm2: 0.11,
  specificEnergyJPerMm3: 15,
  scorchOnsetJPerMm2: 0.07,
};

export const LIME_WOOD: Wood = {
  name: 'Lime',
  colorLab: [82, 3.5, 20],
  absorptance: 0.59,
  thresholdJPerMm2: 0.05,
  specificEnergyJPerMm3: 3.5,
  scorchOnsetJPerMm2: 0.03,
};

export const DEFAULT_STACK: Stack = {
  coats: [DEFAULT_TOP_COAT, DEFAULT_UNDERCOAT],
  film: { seed: 1, slowScaleMm: 28, fineScaleMm: 1.2 },
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
  },
  motion: { maxFeedMmPerS: 200, accelerationMmPerS2: 2000, runUpMm: 5, powerAtRamps: 'held' },
};

export const DEFAULT_PASS: Pass = {
  lightEndPower: 0.7,
  darkEndPower: 0.1,
  feedMmPerS: mmPerMinToMmPerS(7000),
  rowPitchMm: 0.0847,
  headingRad: 0,
  rows: 'two-way',
  rowOffsetErrorMm: 0,
  screen: 'stucki',
  serpentine: true,
  focusOffsetMm: 0,
  tone: null,
};

export const DEFAULT_SLAB: Slab = { shape: 'oval', widthMm: 300, heightMm: 240, thicknessMm: 22, wood: LIME_WOOD };

/** A new piece. Give the picture's file name; everything else can be changed later. */
export function createPiece(name: string, pictureFile: string): Piece {
  return {
    format: 'foreburn',
    version: PIECE_VERSION,
    name,
    slab: DEFAULT_SLAB,
    stack: DEFAULT_STACK,
    picture: { file: pictureFile, widthMm: 276, crop: 'oval', offsetXMm: 0, offsetYMm: 0, tone: NEUTRAL_TONE },
    machine: DEFAULT_MACHINE,
    passes: [DEFAULT_PASS],
  };
}
