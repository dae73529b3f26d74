import * as z from '../base/zod.ts';

/** A number within a range; every way to fail names the whole range. */
export const number = (minimum: number, maximum: number) => {
  const error = `a number from ${minimum} to ${maximum}`;
  return z.number({ error }).check(z.minimum(minimum, { error }), z.maximum(maximum, { error }));
};

export const whole = (minimum: number, maximum: number) => {
  const error = `a whole number from ${minimum} to ${maximum}`;
  return z.int({ error }).check(z.minimum(minimum, { error }), z.maximum(maximum, { error }));
};

export const share = number(0, 1);

export const text = z.string().check(z.maxLength(200));

/** CIE L*a*b* (D65), as an instrument with the mirror reflection included would read it. */
export const lab = z.tuple([number(0, 100), number(-128, 128), number(-128, 128)]);

/**
 * A picture of coarse squares, bytes row by row from the left top corner, base64. What they cover and mean is told where they are
 * used; `piece/tiles.ts` reads and writes them.
 */
const tilesSchema = z
  .strictObject({
    columns: whole(1, 512),
    rows: whole(1, 512),
    bytes: z.string().check(z.maxLength(360000), z.regex(/^[A-Za-z0-9+/]*={0,2}$/, { error: 'bytes in base64' })),
  })
  .check(
    z.refine(({ columns, rows, bytes }) => bytes.length === 4 * Math.ceil((columns * rows) / 3), {
      error: 'as many bytes as there are columns times rows',
    }),
  );

/** Below 1 the steps between powers are finer than controllers read, and nearly every power would be written as nothing. */
export const POWER_SCALE = { least: 1, most: 1_000_000 } as const;

/**
 * How the machine's controller wants its program: words of RS-274/NGC (NISTIR 6556), positions from where, and where the head goes at
 * the end. Says nothing about what the burn looks like, but for `correctRowOffset`.
 */
const controlSchema = z.strictObject({
  /** Value of the word S at full power. */
  powerScale: number(POWER_SCALE.least, POWER_SCALE.most),
  units: z.enum(['mm', 'inch']),
  /** Decimal places of positions. */
  decimals: whole(1, 6),
  /** Code that allows the beam: M3, with which power is held, or M4, with which it follows the speed, where the controller reads them so. */
  beam: z.enum(['holds-power', 'follows-speed']),
  /** Share of full power that no word ever exceeds. */
  powerLimit: share,
  /** A line without motion may say S0; else S comes with motion only. */
  powerAtRest: z.boolean(),
  /** Where positions count from: the bed's near left corner, or the picture's centre, where the head then stands at the start. */
  zero: z.enum(['bed-corner', 'picture-centre']),
  park: z.enum(['picture-centre', 'bed-corner', 'stay']),
  /** Lines of the controller's own, such as air on and off; what they may hold is in `outputs/program/frame.ts`. */
  startWords: text,
  endWords: text,
  /** Rows burned backwards are moved back by the pass's row offset error, so that it does not show. */
  correctRowOffset: z.boolean(),
});

export type Control = z.infer<typeof controlSchema>;

/** Safe with most controllers: the beam off at rest even where one forgets to say so, and a second pass finds the first. */
export const DEFAULT_CONTROL: Control = {
  powerScale: 1000,
  units: 'mm',
  decimals: 3,
  beam: 'follows-speed',
  powerLimit: 1,
  powerAtRest: true,
  zero: 'bed-corner',
  park: 'picture-centre',
  startWords: '',
  endWords: '',
  correctRowOffset: false,
};

export const LOG_OUTCOMES = ['good', 'blotchy', 'too-dark', 'scorched', 'other'] as const;

/**
 * What was burned, in the words of the maker. `passes` are the settings of that day; the schema of a pass is handed in, because it
 * is part of the piece's.
 */
const logEntrySchema = <Pass extends z.core.$ZodType>(pass: Pass) =>
  z.strictObject({
    /** ISO 8601, with the time zone. */
    burnedAt: z
      .string()
      .check(z.maxLength(40), z.regex(/^\d{4}-\d{2}-\d{2}T/, { error: 'a date and time (ISO 8601)' })),
    passes: z.array(pass).check(z.minLength(1), z.maxLength(12)),
    /** The machine's files and their SHA-256, hexadecimal; empty where none was written. */
    files: z
      .array(
        z.strictObject({
          name: text,
          sha256: z.string().check(z.regex(/^[0-9a-f]{64}$/, { error: 'a SHA-256 of 64 figures' })),
        }),
      )
      .check(z.maxLength(24)),
    minutes: number(0, 1e6),
    outcome: z.enum(LOG_OUTCOMES),
    note: z.string().check(z.maxLength(2000)),
    /** Name of a picture of it inside the piece file. */
    photo: z.nullable(text),
  });

/**
 * One of the things a client may choose between: how large the picture is and how many of the piece's passes are burned. Null: as the piece
 * has it.
 */
const quoteOptionSchema = z.strictObject({
  name: text,
  pictureWidthMm: z.nullable(number(1, 3000)),
  passes: z.nullable(whole(1, 12)),
  slabCost: number(0, 1e7),
  handworkMinutes: number(0, 100000),
});

export const QUOTE_LANGUAGES = ['en', 'de', 'fr', 'es', 'it', 'nl'] as const;

/** What the maker charges; money in the currency's own unit. */
const quoteSchema = z.strictObject({
  workshop: text,
  client: text,
  note: z.string().check(z.maxLength(2000)),
  /** ISO 4217 code. */
  currency: z.string().check(z.regex(/^[A-Z]{3}$/, { error: 'a currency code of three capital letters, like EUR' })),
  language: z.enum(QUOTE_LANGUAGES),
  machinePerHour: number(0, 1e6),
  handworkPerHour: number(0, 1e6),
  paintPerLitre: number(0, 1e6),
  /** Share of the paint that does not end up on the slab. */
  paintLoss: number(0, 0.95),
  extraCost: number(0, 1e7),
  /** On top of the costs, share of them; tax on top of both. */
  margin: number(0, 10),
  tax: share,
  validDays: whole(1, 3650),
  options: z.array(quoteOptionSchema).check(z.minLength(1), z.maxLength(4)),
});

export type QuoteOption = z.infer<typeof quoteOptionSchema>;

export type QuoteSettings = z.infer<typeof quoteSchema>;

export type QuoteLanguage = (typeof QUOTE_LANGUAGES)[number];

/** Rates are placeholders that the maker replaces. */
export const DEFAULT_QUOTE: QuoteSettings = {
  workshop: '',
  client: '',
  note: '',
  currency: 'EUR',
  language: 'en',
  machinePerHour: 20,
  handworkPerHour: 35,
  paintPerLitre: 40,
  paintLoss: 0.3,
  extraCost: 0,
  margin: 0.25,
  tax: 0.2,
  validDays: 30,
  options: [{ name: 'As shown', pictureWidthMm: null, passes: null, slabCost: 18, handworkMinutes: 60 }],
};

/**
 * How much thicker than expected the topmost coat was found to lie, from a photograph of the burned piece: squares of `pitchMm` from
 * the left top corner at (xMm, yMm) from the slab's centre, y growing downwards. Bytes over 128 are the factor on the thickness; beyond
 * the squares it is 1.
 */
const foundFilmSchema = z.strictObject({
  xMm: number(-3000, 3000),
  yMm: number(-3000, 3000),
  pitchMm: number(0.1, 100),
  tiles: tilesSchema,
});

export type FoundFilm = z.infer<typeof foundFilmSchema>;

/** The slab's own face and rim as they were photographed, laid flat at true size. */
const slabPhotoSchema = z.strictObject({
  /** Name of the image inside the piece file. */
  file: text,
  /** Middle of the image from the slab's centre, y growing downwards, and its size. */
  xMm: number(-3000, 3000),
  yMm: number(-3000, 3000),
  widthMm: number(1, 6000),
  heightMm: number(1, 6000),
  /** Bare wood is shown as photographed; else as the model grows it. */
  shown: z.boolean(),
});

export type SlabPhoto = z.infer<typeof slabPhotoSchema>;

/** Numbers that a calibration knows together; more than a stack of eight coats has. */
const MOST = 64;

/**
 * What a calibration knows of the piece's numbers: the covariance of their natural logarithms, row by row. Names are those of
 * `studies/sure/spread.ts`.
 */
const covarianceSchema = z
  .strictObject({
    names: z.array(text).check(z.minLength(1), z.maxLength(MOST)),
    matrix: z.array(z.array(number(-100, 100))).check(z.maxLength(MOST)),
  })
  .check(
    z.refine(
      ({ names, matrix }) => matrix.length === names.length && matrix.every((row) => row.length === names.length),
      {
        error: 'a square matrix with a row for each name',
      },
    ),
    z.refine(
      ({ matrix }) =>
        matrix.every(
          (row, i) =>
            row[i] >= 0 &&
            row.every((value, j) => Math.abs(value - (matrix[j]?.[i] ?? Number.NaN)) <= 1e-9 * (1 + Math.abs(value))),
        ),
      {
        error: 'a symmetric matrix with nothing negative on its diagonal',
      },
    ),
  );

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
const applicationSchema = z.discriminatedUnion('kind', [
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

const coatSchema = z.strictObject({
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

const slabSchema = z.strictObject({
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
const repairSchema = z.strictObject({
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

const pictureSchema = z.strictObject({
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

const sourceSchema = z.strictObject({
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

const motionSchema = z.strictObject({
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

const passSchema = z.strictObject({
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
const placementSchema = z.strictObject({
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
