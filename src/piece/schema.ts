import * as z from '../base/zod.ts';
import { controlSchema } from './control-schema.ts';
import { covarianceSchema } from './covariance.ts';
import { lab, number, share, text, tilesSchema, whole } from './fields.ts';
import { foundFilmSchema } from './found-film.ts';
import { logEntrySchema } from './log-schema.ts';
import { quoteSchema } from './quote-schema.ts';
import { slabPhotoSchema } from './slab-photo.ts';

/**
 * The piece: everything a maker saves. Units are the internal ones (mm, s, W, J, rad; films in µm); shares are 0–1.
 * A change here needs a numbered migration in `migrations.ts` and a test on an old file.
 */
export const PIECE_VERSION = 7;

export const SCREEN_METHODS = [
  'floyd-steinberg',
  'jarvis-judice-ninke',
  'stucki',
  'burkes',
  'sierra-3',
  'sierra-2',
  'sierra-2-4a',
  'atkinson',
  'bayer-2',
  'bayer-4',
  'bayer-8',
  'bayer-16',
  'blue-noise',
  'clustered-dot',
  'continuous',
] as const;
export const screenMethodSchema = z.enum(SCREEN_METHODS);

/** How a layer answers the beam. Doses are absorbed ones, per crossing. */
const removal = {
  /** Share of the beam's energy that the layer takes up at the source's wavelength. */
  absorptance: share,
  /** Dose below which a crossing takes nothing away, J/mm². */
  thresholdJPerMm2: number(0, 10),
  /** Energy to take away a volume of the layer, J/mm³. */
  specificEnergyJPerMm3: number(0.1, 1000),
  /** Dose (absorbed, summed over crossings) from which the layer discolours, J/mm². */
  scorchOnsetJPerMm2: number(0, 100),
};

export const FAN_PROFILES = ['uniform', 'triangular', 'parabolic', 'elliptic', 'gaussian'] as const;

/** How a coat was put on. What it leaves is in `physics/film/laid-film.ts`. */
export const applicationSchema = z.discriminatedUnion('kind', [
  /** Nothing known but the unevenness given with the coat. */
  z.strictObject({ kind: z.literal('even') }),
  z.strictObject({
    kind: z.literal('sprayed'),
    fan: z.enum(FAN_PROFILES),
    fanWidthMm: number(5, 1000),
    /** Share of the fan's width by which neighbouring strokes overlap. */
    overlap: number(0, 0.9),
    headingRad: number(0, 2 * Math.PI),
    /** Standard deviations: of the hand beside the stroke, mm, and of its speed over the mean. */
    wobbleMm: number(0, 100),
    speedVariation: number(0, 0.5),
    /** Where the trigger is pulled and let go: beside the slab, or over its edge, which leaves more there. */
    ends: z.enum(['outside', 'inside']),
  }),
  z.strictObject({
    kind: z.literal('brushed'),
    along: z.enum(['width', 'height']),
    /** Distance of bristle marks and their height over the wet film just after the stroke (standard deviation). */
    markSpacingMm: number(0.2, 50),
    markShare: number(0, 1),
    viscosityPaS: number(0.01, 1000),
    /** Time in which the paint can still flow. */
    openTimeS: number(0, 86400),
  }),
  z.strictObject({
    kind: z.literal('poured'),
    /** Extra thickness at the rim over the mean, and how far in it reaches. */
    beadShare: number(0, 5),
    beadWidthMm: number(0.1, 100),
  }),
]);

export const coatSchema = z.strictObject({
  name: text,
  /** Colour of the coat where it hides fully. */
  colorLab: lab,
  /** Kubelka–Munk scattering, 1/mm; how well it hides. */
  scatteringPerMm: number(0.1, 1000),
  /** All layers of this coat together, dry. */
  dryThicknessUm: number(0, 1000),
  layers: whole(1, 20),
  /** Share of the paint's volume that stays, and thinner added per volume of paint. */
  volumeSolids: number(0.01, 1),
  thinnerShare: number(0, 1),
  application: applicationSchema,
  /** What no stroke explains: standard deviation over the mean, slow (over centimetres) and fine (over millimetres). */
  slowVariation: number(0, 0.5),
  fineVariation: number(0, 0.5),
  /** Rubbed down once it was dry: takes most of the relief off its surface. */
  sandedAfter: z.boolean(),
  /** Dry thickness of one layer that the paint's maker calls usual, µm. */
  usualLayerUm: z.tuple([number(0, 1000), number(0, 1000)]),
  /** Colour that the coat was meant to have; null if that is of no interest. */
  wantedLab: z.nullable(lab),
  /** Gloss at 60°, gloss units. */
  gloss60: number(0, 100),
  /** Time that a layer dries before the next one, hours. */
  dryHours: number(0, 1000),
  /** How deep the beam goes (1/e), µm: a film that is not much thicker lets some of it by. 0: taken up however thin. */
  opticalDepthUm: number(0, 100),
  /** How much more of the beam a pass takes up where an earlier one has touched the coat, a factor. 1: no more. */
  touchedFactor: number(0.3, 5),
  ...removal,
});

export const woodSchema = z.strictObject({
  name: text,
  colorLab: lab,
  /** At the moisture it is burned at. */
  densityKgPerM3: number(50, 1500),
  ringWidthMm: number(0.2, 30),
  /** Density of latewood over that of earlywood, and how much darker it is in L*. */
  ringContrast: number(1, 4),
  ringLightness: number(0, 40),
  /** Relief of the face, µm (standard deviation of its height): as sawn, and sanded. */
  sawnReliefUm: number(0, 500),
  sandedReliefUm: number(0, 500),
  /** L* that charring takes off in the end. */
  lightnessLoss: number(0, 100),
  ...removal,
});

/** Places on the slab: from its centre, y growing downwards. */
const place = { xMm: number(-3000, 3000), yMm: number(-3000, 3000) };

export const knotSchema = z.strictObject({
  ...place,
  diameterMm: number(1, 300),
  /** Lean of the branch against the face: 0 looks at its end grain; more draws it out. */
  tiltRad: number(0, 1.4),
  /** Its drying crack is filled and flush. */
  filled: z.boolean(),
});

/** A crack from drying. */
export const checkSchema = z.strictObject({
  ...place,
  lengthMm: number(1, 1000),
  headingRad: number(0, 2 * Math.PI),
  widthMm: number(0.05, 20),
  depthMm: number(0.01, 50),
  filled: z.boolean(),
});

/** Corners of a closed outline; none for other shapes. */
const outline = z.array(z.tuple([number(-3000, 3000), number(-3000, 3000)])).check(
  z.maxLength(1000),
  z.refine((points) => points.length !== 1 && points.length !== 2, { error: 'at least three points' }),
);

export const slabSchema = z.strictObject({
  shape: z.enum(['oval', 'rectangle', 'outline']),
  /** Size of the box round the outline. */
  widthMm: number(5, 3000),
  heightMm: number(5, 3000),
  /** The closed outline from the box's centre, y growing downwards, when the shape is one. */
  outlineMm: outline,
  thicknessMm: number(1, 200),
  wood: woodSchema,
  /** Across the trunk (rings, bark all round) or along it (grain along the width). */
  cut: z.enum(['slice', 'plank']),
  edge: z.enum(['bark', 'sawn']),
  finish: z.enum(['sanded', 'as-sawn']),
  /** Where the rings' middle lies (slice), and which of many likely grains this is. */
  pithXMm: number(-3000, 3000),
  pithYMm: number(-3000, 3000),
  grainSeed: whole(0, 4294967295),
  knots: z.array(knotSchema).check(z.maxLength(12)),
  checks: z.array(checkSchema).check(z.maxLength(12)),
  /** Height of the middle over the two ends (warped along the width) and over the whole rim (domed), mm. */
  bowMm: number(-50, 50),
  domeMm: number(-50, 50),
  /** Rim that was taped off: bare wood; how far paint crept under the tape. */
  maskedRimMm: number(0, 200),
  seepMm: number(0, 10),
  /** Null: nobody has photographed it. Belongs to the outline. */
  photo: z.nullable(slabPhotoSchema),
});

export const stackSchema = z.strictObject({
  /** Topmost coat first; empty for bare wood. */
  coats: z.array(coatSchema).check(z.maxLength(8)),
  /** Time that the last coat cures before the burn, hours. */
  cureHours: number(0, 10000),
  film: z.strictObject({
    /** `mean`: the films are shown as thick as they are on average, since nobody knows where they are thicker. `drawn`: one that may lie there. */
    shown: z.enum(['mean', 'drawn']),
    /** Which of the films that may lie there. */
    seed: whole(0, 4294967295),
    slowScaleMm: number(1, 500),
    fineScaleMm: number(0.1, 50),
    /** Null: nobody has measured a burned piece. */
    found: z.nullable(foundFilmSchema),
  }),
});

const curvePoint = z.tuple([share, share]);
/** Points (x, y), each x greater than the one before. */
const risingPoints = z.array(curvePoint).check(
  z.maxLength(32),
  z.refine((points) => points.every(([x], i) => i === 0 || x > points[i - 1][0]), {
    error: 'points whose first values rise',
  }),
);
export const toneSchema = z.strictObject({
  exposureEv: number(-8, 8),
  /** −1 … 1; 0 leaves the picture alone. */
  contrast: number(-1, 1),
  gamma: number(0.1, 10),
  /** Points of the tone curve, lightness in → lightness out, rising in the first value. Empty: straight. */
  curve: risingPoints,
  unsharpMask: z.strictObject({
    radiusMm: number(0, 20),
    amount: number(0, 5),
    /** Lightness difference below which nothing is sharpened. */
    threshold: share,
  }),
});

/** What is put right of an old print, shares of full strength. */
export const repairSchema = z.strictObject({
  cast: share,
  fade: share,
  localContrast: share,
  noise: share,
  scratches: share,
});

/** One stroke of the mask's brush; lengths in shares of the picture's width from its left top corner. */
export const strokeSchema = z.strictObject({
  does: z.enum(['erase', 'restore']),
  points: z.array(z.tuple([number(-1, 2), number(-1, 4)])).check(z.minLength(1), z.maxLength(2000)),
  radius: number(0.0005, 1),
  hardness: share,
});

export const pictureSchema = z.strictObject({
  /** Name of the image inside the piece file. */
  file: text,
  widthMm: number(1, 3000),
  /** Height follows from the photo's proportions. */
  crop: z.enum(['rectangle', 'oval']),
  /** Centre of the picture from the centre of the slab; y grows downwards. */
  offsetXMm: number(-3000, 3000),
  offsetYMm: number(-3000, 3000),
  /** Turn about its centre, counter-clockwise. */
  rotationRad: number(-Math.PI, Math.PI),
  /** Width over which the picture sinks into the coat's own tone at its edge. */
  fallOffMm: number(0, 500),
  strokes: z.array(strokeSchema).check(z.maxLength(1000)),
  repair: repairSchema,
  tone: toneSchema,
});

export const sourceSchema = z.strictObject({
  wavelengthNm: number(150, 12000),
  fullPowerW: number(0.01, 1000),
  /** 1/e² radii at the focus, for rows with heading 0. */
  spotAcrossMm: number(0.001, 5),
  spotAlongMm: number(0.001, 5),
  /** Beam propagation ratio M² (ISO 11146-1). */
  beamQuality: number(1, 1000),
  /** Share of full power below which no light comes out. */
  firingFloor: number(0, 0.9),
  riseTimeS: number(0, 0.1),
  fallTimeS: number(0, 0.1),
  /** Set power → power that comes out, both shares, rising. Empty: straight. */
  powerCurve: risingPoints,
  /**
   * Null: the light is continuous. Else pulses a second, exponent S of incubation (threshold · N^(S − 1)) and the depth 1/α_eff of
   * the logarithmic law; the layers' thresholds then hold for one pulse.
   */
  pulses: z.nullable(
    z.strictObject({ rateHz: number(1, 1e9), incubation: number(0.5, 1), depthPerPulseUm: number(0.001, 1000) }),
  ),
});

export const motionSchema = z.strictObject({
  maxFeedMmPerS: number(0.1, 10000),
  accelerationMmPerS2: number(1, 1000000),
  runUpMm: number(0, 500),
  /** Power while the head gets up to speed inside the picture: held, or scaled with the speed. */
  powerAtRamps: z.enum(['held', 'follows-feed']),
});

export const machineSchema = z.strictObject({
  name: text,
  source: sourceSchema,
  motion: motionSchema,
  /** How well a stream of air sweeps ash and smoke off the work: 0 not at all, 1 fully. */
  airFlow: share,
  control: controlSchema,
});

export const heatSchema = z.strictObject({
  /** Rows soon after one another start warmer. */
  carryOver: z.boolean(),
  /** Share of the absorbed energy that stays as heat. */
  retainedShare: share,
});

/** How far the truth may lie from the numbers: standard deviations of their natural logarithms. */
export const certaintySchema = z.strictObject({
  source: z.enum(['preset', 'calibrated']),
  threshold: number(0, 2),
  specificEnergy: number(0, 2),
  thickness: number(0, 2),
  power: number(0, 2),
  /** What a calibration knows of the numbers together; null where none was done. */
  covariance: z.nullable(covarianceSchema),
});

export const passSchema = z.strictObject({
  lightEndPower: share,
  darkEndPower: share,
  feedMmPerS: number(0.1, 10000),
  rowPitchMm: number(0.01, 5),
  headingRad: number(0, 2 * Math.PI),
  rows: z.enum(['one-way', 'two-way']),
  /** How far rows burned backwards land from where they should, along the row. */
  rowOffsetErrorMm: number(-5, 5),
  screen: screenMethodSchema,
  /** Every other row is screened backwards; only error diffusion heeds it. */
  serpentine: z.boolean(),
  focusOffsetMm: number(-100, 100),
  /** Tone of its own instead of the picture's. */
  tone: z.nullable(toneSchema),
  /** Where it burns, as squares over the box of the placed picture, 0 for not at all; null for everywhere. */
  only: z.nullable(tilesSchema),
});

/** Where the slab lies on the machine's bed. */
export const placementSchema = z.strictObject({
  bedWidthMm: number(20, 5000),
  bedHeightMm: number(20, 5000),
  /** The slab's centre from the bed's near left corner, x to the right, y away from the maker; turn counter-clockwise. */
  xMm: number(-5000, 5000),
  yMm: number(-5000, 5000),
  turnRad: number(-Math.PI, Math.PI),
  /** Room to keep round the slab for the head and clamps. */
  clearanceMm: number(0, 200),
  /** Power of the perimeter walk: 0 with the beam off. */
  pilotPower: number(0, 0.1),
  /** Burn a small reference mark in the margin for a second pass. */
  referenceMark: z.boolean(),
});

export const pieceSchema = z.strictObject({
  format: z.literal('foreburn'),
  version: z.literal(PIECE_VERSION),
  name: text,
  slab: slabSchema,
  stack: stackSchema,
  picture: pictureSchema,
  machine: machineSchema,
  passes: z.array(passSchema).check(z.minLength(1), z.maxLength(12)),
  placement: placementSchema,
  heat: heatSchema,
  certainty: certaintySchema,
  quote: quoteSchema,
  /** What was burned, newest last. */
  log: z.array(logEntrySchema(passSchema)).check(z.maxLength(200)),
});

export type Tiles = z.infer<typeof tilesSchema>;
export type ScreenMethod = z.infer<typeof screenMethodSchema>;
export type Application = z.infer<typeof applicationSchema>;
export type Coat = z.infer<typeof coatSchema>;
export type Wood = z.infer<typeof woodSchema>;
export type Knot = z.infer<typeof knotSchema>;
export type Check = z.infer<typeof checkSchema>;
export type Placement = z.infer<typeof placementSchema>;
export type Heat = z.infer<typeof heatSchema>;
export type Certainty = z.infer<typeof certaintySchema>;
export type Slab = z.infer<typeof slabSchema>;
export type Stack = z.infer<typeof stackSchema>;
export type Tone = z.infer<typeof toneSchema>;
export type Repair = z.infer<typeof repairSchema>;
export type BrushStroke = z.infer<typeof strokeSchema>;
export type PictureSettings = z.infer<typeof pictureSchema>;
export type Source = z.infer<typeof sourceSchema>;
export type Motion = z.infer<typeof motionSchema>;
export type Machine = z.infer<typeof machineSchema>;
export type Pass = z.infer<typeof passSchema>;
export type LogEntry = Piece['log'][number];
export type Piece = z.infer<typeof pieceSchema>;
