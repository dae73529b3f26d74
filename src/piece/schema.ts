import { isDay } from '../base/day.ts';
import { quantity, type Showing, wholeQuantity } from '../base/quantity.ts';
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

/** A number that a person sets, with how it is shown: what of the piece has a control is made by these two. */
const field = (low: number, high: number, showing: Showing) =>
  Object.assign(number(low, high), { quantity: quantity(low, high, showing) });

const wholeField = (low: number, high: number, showing: Showing) =>
  Object.assign(whole(low, high), { quantity: wholeQuantity(low, high, showing) });

export const text = z.string().check(z.maxLength(200));

/** CIE L*a*b* (D65), as an instrument with the mirror reflection included would read it. */
export const lab = z.tuple([
  field(0, 100, { label: 'L*', unit: '', step: 0.5, digits: 1 }),
  field(-128, 128, { label: 'a*', unit: '', step: 0.5, digits: 1, sliderLow: -60, sliderHigh: 60 }),
  field(-128, 128, { label: 'b*', unit: '', step: 0.5, digits: 1, sliderLow: -60, sliderHigh: 60 }),
]);

/**
 * A picture of coarse squares, bytes row by row from the left top corner, base64. What they cover and mean is told where they are
 * used; `piece/tiles.ts` reads and writes them.
 */
const tilesShape = {
  columns: whole(1, 512),
  rows: whole(1, 512),
  bytes: z.string().check(z.maxLength(360000), z.regex(/^[A-Za-z0-9+/]*={0,2}$/, { error: 'bytes in base64' })),
};

const hasAllBytes = ({ columns, rows, bytes }: Tiles) => bytes.length === 4 * Math.ceil((columns * rows) / 3);

const LACKS_BYTES = { error: 'as many bytes as there are columns times rows' };

const tilesSchema = z.strictObject(tilesShape).check(z.refine(hasAllBytes, LACKS_BYTES));

/** Squares over a box about the picture's middle, so many times as wide and as high as the placed picture; 0 is not burned, nor what lies beyond. */
const burnPlacesSchema = z
  .strictObject({ ...tilesShape, across: number(1, 1000), down: number(1, 1000) })
  .check(z.refine(hasAllBytes, LACKS_BYTES));

/**
 * How the machine's controller wants its program: words of RS-274/NGC (NISTIR 6556), positions from where, and where the head goes at
 * the end. Says nothing about what the burn looks like, but for `correctRowOffset`.
 */
const controlSchema = z.strictObject({
  /**
   * Value of the word S at full power. Below 1 the steps between powers are finer than controllers read, and nearly every power would
   * be written as nothing.
   */
  powerScale: field(1, 1_000_000, { label: 'Power scale', unit: '', step: 1, digits: 2, sliderHigh: 1000 }),
  units: z.enum(['mm', 'inch']),
  /** Decimal places of positions. */
  decimals: wholeField(1, 6, { label: 'Decimal places', unit: '', step: 1, digits: 0 }),
  /** Code that allows the beam: M3, with which power is held, or M4, with which it follows the speed, where the controller reads them so. */
  beam: z.enum(['holds-power', 'follows-speed']),
  /** Share of full power that no word ever exceeds. */
  powerLimit: field(0, 1, { label: 'Power limit', unit: '%', step: 1, digits: 1 }),
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

/** How far a piece has come, in the order of the bench. */
export const ORDER_STATES = ['idea', 'prepared', 'painted', 'burned', 'delivered'] as const;

export type OrderState = (typeof ORDER_STATES)[number];

const daySchema = z.string().check(z.refine(isDay, { error: 'a day like 2031-05-02' }));

/** What was ordered, and how far it has come. Who it is for stands in the quote. */
const orderSchema = z.strictObject({
  /** Day by which it must be handed over (ISO 8601); null: none was named. */
  dueOn: z.nullable(daySchema),
  state: z.enum(ORDER_STATES),
  /** Slabs with this very picture. */
  quantity: wholeField(1, 500, { label: 'Slabs of it', unit: '', step: 1, digits: 0, sliderHigh: 20 }),
});

export type Order = z.infer<typeof orderSchema>;

export const DEFAULT_ORDER: Order = { dueOn: null, state: 'idea', quantity: 1 };

/** Where a piece has its paint and machine from. */
const fromShelfSchema = z.strictObject({
  /** The shelf's entry, whatever it is called by now. */
  id: text.check(z.minLength(1)),
  name: text,
  /** Stands for the numbers that it had then (`sumOf`). */
  sum: text,
});

export type FromShelf = z.infer<typeof fromShelfSchema>;

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
  pictureWidthMm: z.nullable(
    field(1, 3000, { label: 'Picture’s width', unit: 'mm', step: 5, digits: 0, sliderHigh: 600 }),
  ),
  passes: z.nullable(wholeField(1, 12, { label: 'Passes', unit: '', step: 1, digits: 0 })),
  slabCost: field(0, 1e7, { label: 'Slab', unit: '¤', step: 1, digits: 2, sliderHigh: 100 }),
  handworkMinutes: field(0, 100000, { label: 'Handwork', unit: 'min', step: 5, digits: 0, sliderHigh: 300 }),
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
  machinePerHour: field(0, 1e6, { label: 'Machine, per hour', unit: '¤', step: 1, digits: 2, sliderHigh: 150 }),
  handworkPerHour: field(0, 1e6, { label: 'Handwork, per hour', unit: '¤', step: 1, digits: 2, sliderHigh: 150 }),
  paintPerLitre: field(0, 1e6, { label: 'Paint, a litre', unit: '¤', step: 1, digits: 2, sliderHigh: 150 }),
  /** Share of the paint that does not end up on the slab. */
  paintLoss: field(0, 0.95, { label: 'Paint lost', unit: '%', step: 1, digits: 2 }),
  extraCost: field(0, 1e7, { label: 'Anything else', unit: '¤', step: 1, digits: 2, sliderHigh: 150 }),
  /** On top of the costs, share of them; tax on top of both. */
  margin: field(0, 10, { label: 'Margin', unit: '%', step: 1, digits: 2, sliderHigh: 100 }),
  tax: field(0, 1, { label: 'Tax', unit: '%', step: 1, digits: 2, sliderHigh: 30 }),
  validDays: wholeField(1, 3650, { label: 'Valid for', unit: 'days', step: 1, digits: 0, sliderHigh: 120 }),
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
export const PIECE_VERSION = 9;

export const SCREEN_METHODS = [
  'model-diffusion',
  'direct-search',
  'floyd-steinberg',
  'jarvis-judice-ninke',
  'stucki',
  'tone-dependent',
  'bayer-2',
  'bayer-4',
  'bayer-8',
  'bayer-16',
  'blue-noise',
  'clustered-dot',
  'continuous',
] as const;

/** Screens that place dots by what the burn makes of them. */
const MODEL_METHODS = [
  'model-diffusion',
  'direct-search',
] as const satisfies readonly (typeof SCREEN_METHODS)[number][];

export type ModelMethod = (typeof MODEL_METHODS)[number];

export const isModelMethod = (method: (typeof SCREEN_METHODS)[number]): method is ModelMethod =>
  MODEL_METHODS.some((one) => one === method);

export const screenMethodSchema = z.enum(SCREEN_METHODS);

/** How a layer answers the beam. Doses are absorbed ones, per crossing. */
const removal = {
  /** Share of the beam's energy that the layer takes up at the source's wavelength. */
  absorptance: field(0, 1, { label: 'Absorptance', unit: '%', step: 1, digits: 1 }),
  /** Dose below which a crossing takes nothing away, J/mm². */
  thresholdJPerMm2: field(0, 10, { label: 'Threshold dose', unit: 'J/mm²', step: 0.001, digits: 4, sliderHigh: 0.4 }),
  /** Energy to take away a volume of the layer, J/mm³. */
  specificEnergyJPerMm3: field(0.1, 1000, {
    label: 'Specific energy',
    unit: 'J/mm³',
    step: 0.1,
    digits: 2,
    sliderHigh: 40,
  }),
  /** Dose (absorbed, summed over crossings) from which the layer discolours, J/mm². */
  scorchOnsetJPerMm2: field(0, 100, { label: 'Scorch onset', unit: 'J/mm²', step: 0.001, digits: 3, sliderHigh: 0.5 }),
};

export const FAN_PROFILES = ['uniform', 'triangular', 'parabolic', 'elliptic', 'gaussian'] as const;

/** How a coat was put on. What it leaves is in `physics/film/laid-film.ts`. */
const applicationSchema = z.discriminatedUnion('kind', [
  /** Nothing known but the unevenness given with the coat. */
  z.strictObject({ kind: z.literal('even') }),
  z.strictObject({
    kind: z.literal('sprayed'),
    fan: z.enum(FAN_PROFILES),
    fanWidthMm: field(5, 1000, { label: 'Fan width', unit: 'mm', step: 1, digits: 1, sliderLow: 20, sliderHigh: 250 }),
    /** Share of the fan's width by which neighbouring strokes overlap. */
    overlap: field(0, 0.9, { label: 'Overlap', unit: '%', step: 1, digits: 1 }),
    headingRad: field(0, 2 * Math.PI, { label: 'Stroke heading', unit: '°', step: 5, digits: 1 }),
    /** Standard deviations: of the hand beside the stroke, mm, and of its speed over the mean. */
    wobbleMm: field(0, 100, { label: 'Wobble of the hand', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 20 }),
    speedVariation: field(0, 0.5, { label: 'Unsteady speed', unit: '%', step: 1, digits: 1 }),
    /** Where the trigger is pulled and let go: beside the slab, or over its edge, which leaves more there. */
    ends: z.enum(['outside', 'inside']),
  }),
  z.strictObject({
    kind: z.literal('brushed'),
    along: z.enum(['width', 'height']),
    /** Distance of bristle marks and their height over the wet film just after the stroke (standard deviation). */
    markSpacingMm: field(0.2, 50, { label: 'Bristle marks apart', unit: 'mm', step: 0.1, digits: 1, sliderHigh: 8 }),
    markShare: field(0, 1, { label: 'Height of the marks', unit: '%', step: 1, digits: 0 }),
    viscosityPaS: field(0.01, 1000, { label: 'Viscosity', unit: 'Pa·s', step: 0.1, digits: 2, sliderHigh: 30 }),
    /** Time in which the paint can still flow. */
    openTimeS: field(0, 86400, { label: 'Open time', unit: 's', step: 10, digits: 0, sliderHigh: 900 }),
  }),
  z.strictObject({
    kind: z.literal('poured'),
    /** Extra thickness at the rim over the mean, and how far in it reaches. */
    beadShare: field(0, 5, { label: 'Bead at the rim', unit: '%', step: 5, digits: 0, sliderHigh: 150 }),
    beadWidthMm: field(0.1, 100, { label: 'Bead reaches in', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 30 }),
  }),
]);

const coatSchema = z.strictObject({
  name: text,
  /** Colour of the coat where it hides fully. */
  colorLab: lab,
  /** Kubelka–Munk scattering, 1/mm; how well it hides. */
  scatteringPerMm: field(0.1, 1000, {
    label: 'Hiding (scattering)',
    unit: '1/mm',
    step: 1,
    digits: 1,
    sliderHigh: 250,
  }),
  /** All layers of this coat together, dry. */
  dryThicknessUm: field(0, 1000, { label: 'Dry thickness', unit: 'µm', step: 1, digits: 1, sliderHigh: 120 }),
  layers: wholeField(1, 20, { label: 'Coats applied of this paint', unit: '', step: 1, digits: 0 }),
  /** Share of the paint's volume that stays, and thinner added per volume of paint. */
  volumeSolids: field(0.01, 1, { label: 'Volume solids', unit: '%', step: 1, digits: 1 }),
  thinnerShare: field(0, 1, { label: 'Thinner added', unit: '%', step: 5, digits: 0 }),
  application: applicationSchema,
  /** What no stroke explains: standard deviation over the mean, slow (over centimetres) and fine (over millimetres). */
  slowVariation: field(0, 0.5, { label: 'Unevenness, slow', unit: '%', step: 0.5, digits: 1, sliderHigh: 25 }),
  fineVariation: field(0, 0.5, { label: 'Unevenness, fine', unit: '%', step: 0.5, digits: 1, sliderHigh: 25 }),
  /** Rubbed down once it was dry: takes most of the relief off its surface. */
  sandedAfter: z.boolean(),
  /** Dry thickness of one layer that the paint's maker calls usual, µm. */
  usualLayerUm: z.tuple([
    field(0, 1000, { label: 'Usual film of one application, least', unit: 'µm', step: 1, digits: 1, sliderHigh: 100 }),
    field(0, 1000, { label: 'Usual film of one application, most', unit: 'µm', step: 1, digits: 1, sliderHigh: 100 }),
  ]),
  /** Colour that the coat was meant to have; null if that is of no interest. */
  wantedLab: z.nullable(lab),
  /** Gloss at 60°, gloss units. */
  gloss60: field(0, 100, { label: 'Gloss at 60°', unit: 'GU', step: 1, digits: 0 }),
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
  densityKgPerM3: field(50, 1500, {
    label: 'Density',
    unit: 'kg/m³',
    step: 10,
    digits: 0,
    sliderLow: 200,
    sliderHigh: 1000,
  }),
  ringWidthMm: field(0.2, 30, { label: 'Ring width', unit: 'mm', step: 0.1, digits: 1, sliderHigh: 8 }),
  /** Density of latewood over that of earlywood, and how much darker it is in L*. */
  ringContrast: field(1, 4, { label: 'Ring contrast', unit: '×', step: 0.05, digits: 2 }),
  ringLightness: field(0, 40, { label: 'Ring darkness', unit: 'L*', step: 0.5, digits: 1, sliderHigh: 20 }),
  /** Relief of the face, µm (standard deviation of its height): as sawn, and sanded. */
  sawnReliefUm: field(0, 500, { label: 'Relief, as sawn', unit: 'µm', step: 1, digits: 1, sliderHigh: 100 }),
  sandedReliefUm: field(0, 500, { label: 'Relief, sanded', unit: 'µm', step: 0.5, digits: 1, sliderHigh: 30 }),
  /** L* that charring takes off in the end. */
  lightnessLoss: field(0, 100, { label: 'Darkened at most by', unit: 'L*', step: 0.5, digits: 1 }),
  ...removal,
});

const TO_THE_RIGHT = {
  label: 'To the right',
  unit: 'mm',
  step: 0.5,
  digits: 1,
  sliderLow: -150,
  sliderHigh: 150,
} as const;

const TOWARDS_YOU = { ...TO_THE_RIGHT, label: 'Towards you' };

/** Places on the slab: from its centre, y growing downwards. */
const place = { xMm: field(-3000, 3000, TO_THE_RIGHT), yMm: field(-3000, 3000, TOWARDS_YOU) };

export const knotSchema = z.strictObject({
  ...place,
  diameterMm: field(1, 300, { label: 'Diameter', unit: 'mm', step: 1, digits: 1, sliderLow: 2, sliderHigh: 80 }),
  /** Lean of the branch against the face: 0 looks at its end grain; more draws it out. */
  tiltRad: field(0, 1.4, { label: 'Lean of the branch', unit: '°', step: 1, digits: 0 }),
  /** Its drying crack is filled and flush. */
  filled: z.boolean(),
});

/** A crack from drying. */
export const checkSchema = z.strictObject({
  ...place,
  lengthMm: field(1, 1000, { label: 'Length', unit: 'mm', step: 1, digits: 1, sliderHigh: 200 }),
  headingRad: number(0, 2 * Math.PI),
  widthMm: field(0.05, 20, { label: 'Width', unit: 'mm', step: 0.05, digits: 2, sliderHigh: 5 }),
  depthMm: field(0.01, 50, { label: 'Depth', unit: 'mm', step: 0.1, digits: 2, sliderHigh: 20 }),
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
  widthMm: field(5, 3000, { label: 'Width', unit: 'mm', step: 1, digits: 1, sliderLow: 50, sliderHigh: 600 }),
  heightMm: field(5, 3000, { label: 'Height', unit: 'mm', step: 1, digits: 1, sliderLow: 50, sliderHigh: 600 }),
  /** The closed outline from the box's centre, y growing downwards, when the shape is one. */
  outlineMm: outline,
  thicknessMm: field(1, 200, { label: 'Thickness', unit: 'mm', step: 1, digits: 1, sliderLow: 5, sliderHigh: 60 }),
  wood: woodSchema,
  /** Across the trunk (rings, bark all round) or along it (grain along the width). */
  cut: z.enum(['slice', 'plank']),
  edge: z.enum(['bark', 'sawn']),
  finish: z.enum(['sanded', 'as-sawn']),
  /** Where the rings' middle lies (slice), and which of many likely grains this is. */
  pithXMm: field(-3000, 3000, TO_THE_RIGHT),
  pithYMm: field(-3000, 3000, TOWARDS_YOU),
  grainSeed: whole(0, 4294967295),
  knots: z.array(knotSchema).check(z.maxLength(12)),
  checks: z.array(checkSchema).check(z.maxLength(12)),
  /** Height of the middle over the two ends (warped along the width) and over the whole rim (domed), mm. */
  bowMm: field(-50, 50, {
    label: 'Bow along the width',
    unit: 'mm',
    step: 0.1,
    digits: 1,
    sliderLow: -5,
    sliderHigh: 5,
  }),
  domeMm: field(-50, 50, { label: 'Dome', unit: 'mm', step: 0.1, digits: 1, sliderLow: -5, sliderHigh: 5 }),
  /** Rim that was taped off: bare wood; how far paint crept under the tape. */
  maskedRimMm: field(0, 200, { label: 'Taped rim', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 40 }),
  seepMm: field(0, 10, { label: 'Seep under the tape', unit: 'mm', step: 0.1, digits: 2, sliderHigh: 3 }),
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
    seed: wholeField(0, 4294967295, { label: 'Likely film no.', unit: '', step: 1, digits: 0, sliderHigh: 50 }),
    slowScaleMm: field(1, 500, { label: 'Size of slow waves', unit: 'mm', step: 1, digits: 1, sliderHigh: 120 }),
    fineScaleMm: field(0.1, 50, { label: 'Size of fine waves', unit: 'mm', step: 0.1, digits: 2, sliderHigh: 6 }),
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
  exposureEv: field(-8, 8, {
    label: 'Lighter or darker',
    unit: 'EV',
    step: 0.05,
    digits: 2,
    sliderLow: -2,
    sliderHigh: 2,
  }),
  /** −1 … 1; 0 leaves the picture alone. */
  contrast: field(-1, 1, { label: 'Steepness', unit: '%', step: 1, digits: 0 }),
  gamma: field(0.1, 10, { label: 'Middle tones', unit: '', step: 0.01, digits: 2, sliderLow: 0.4, sliderHigh: 2.5 }),
  /** Lightness in → share of what the slab shows that is wanted for it, see `image/tone-intent.ts`. Empty: evenly. */
  intent: risingPoints,
  /** Points of the tone curve, what is wanted → lightness to burn, rising in the first value. Empty: straight. */
  curve: risingPoints,
  unsharpMask: z.strictObject({
    radiusMm: field(0, 20, { label: 'Sharpening, reach', unit: 'mm', step: 0.05, digits: 2, sliderHigh: 2 }),
    amount: field(0, 5, { label: 'Sharpening, strength', unit: '%', step: 5, digits: 0, sliderHigh: 200 }),
    /** Lightness difference below which nothing is sharpened. */
    threshold: field(0, 1, { label: 'Sharpening, floor', unit: '%', step: 0.5, digits: 1, sliderHigh: 20 }),
  }),
});

/** What is put right of an old print, shares of full strength. */
const repairSchema = z.strictObject({
  cast: field(0, 1, { label: 'Yellowing', unit: '%', step: 5, digits: 0 }),
  fade: field(0, 1, { label: 'Pale darks', unit: '%', step: 5, digits: 0 }),
  localContrast: field(0, 1, { label: 'Flat areas', unit: '%', step: 5, digits: 0 }),
  noise: field(0, 1, { label: 'Speckle', unit: '%', step: 5, digits: 0 }),
  scratches: field(0, 1, { label: 'Specks and creases', unit: '%', step: 5, digits: 0 }),
});

/** One stroke of the mask's brush; lengths in shares of the photograph's width from its left top corner. */
export const strokeSchema = z.strictObject({
  does: z.enum(['erase', 'restore']),
  points: z.array(z.tuple([number(-1, 2), number(-1, 4)])).check(z.minLength(1), z.maxLength(2000)),
  radius: number(0.0005, 1),
  hardness: share,
});

/**
 * What of the photograph is used: a rectangle in it, which may be turned. Lengths are shares of the photograph's width from its left top
 * corner; the turn is that of the photograph's content, counter-clockwise. `piece/frame.ts` reads it.
 */
const cutSchema = z.strictObject({
  xMiddle: share,
  yMiddle: number(0, 4),
  width: number(0.005, 1),
  height: number(0.005, 4),
  turnRad: field(-Math.PI / 4, Math.PI / 4, {
    label: 'Straighten',
    unit: '°',
    step: 0.1,
    digits: 1,
    sliderLow: -15,
    sliderHigh: 15,
  }),
});

/** One stroke of the healing brush over a scratch or a blemish; lengths as a cut's. */
const healSchema = z.strictObject({
  points: z.array(z.tuple([number(0, 1), number(0, 4)])).check(z.minLength(1), z.maxLength(2000)),
  radius: number(0.0005, 0.2),
});

/** Where the background was told from the subject: what was found, over all of the photograph, and the marks that it was found from. */
const matteSchema = z.strictObject({
  /** 0 goes … 255 stays. */
  tiles: tilesSchema,
  marks: z
    .array(
      z.strictObject({
        stays: z.boolean(),
        points: z.array(z.tuple([number(-1, 2), number(-1, 4)])).check(z.minLength(1), z.maxLength(2000)),
        radius: number(0.0005, 1),
      }),
    )
    .check(z.maxLength(200)),
});

export const LETTER_FONTS = ['fraunces', 'public-sans', 'eb-garamond', 'great-vibes'] as const;

/** Units of letters' outlines in an em: fine enough for capitals as tall as a hand. */
export const LETTER_UNITS = 2000;

const letterUnits = whole(-20 * LETTER_UNITS, 20 * LETTER_UNITS);

/**
 * Letters as they are burned: outlines of straight edges, so that whoever burns a piece needs no font and gets the same dots. `text` and
 * `font` say what they were drawn from.
 */
const lettersSchema = z.array(
  z.strictObject({
    /** To the next letter, kerning included. */
    advance: letterUnits,
    /** Closed outlines: x and y in turn, x to the right from where the letter begins, y upwards from the baseline. Non-zero winding. */
    outlines: z.array(z.array(letterUnits).check(z.minLength(6), z.maxLength(2000))).check(z.maxLength(60)),
  }),
);

/** Lightness wanted, 0–1, as the picture's. */
const letterTone = field(0, 1, { label: 'Tone', unit: '%', step: 1, digits: 0 });

/** Something drawn beside the photograph and burned with it: a line of text, or a border. */
const letteringSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('text'),
    text,
    font: z.enum(LETTER_FONTS),
    letters: lettersSchema.check(z.maxLength(200)),
    /** Height of the font's capitals over its em. */
    capEm: number(0.1, 2),
    capMm: field(0.5, 300, {
      label: 'Height of capitals',
      unit: 'mm',
      step: 0.5,
      digits: 1,
      sliderLow: 3,
      sliderHigh: 40,
    }),
    /** Added between letters, shares of the height of capitals. */
    spacing: field(-0.5, 3, { label: 'Space between letters', unit: '%', step: 1, digits: 0, sliderHigh: 100 }),
    tone: letterTone,
    place: z.discriminatedUnion('along', [
      /** Middle of the baseline from the slab's centre, y growing downwards; turn counter-clockwise. */
      z.strictObject({
        along: z.literal('line'),
        xMm: field(-3000, 3000, TO_THE_RIGHT),
        yMm: field(-3000, 3000, { label: 'Down', unit: 'mm', step: 0.5, digits: 1, sliderLow: -150, sliderHigh: 150 }),
        turnRad: field(-Math.PI, Math.PI, { label: 'Turned', unit: '°', step: 0.5, digits: 1 }),
      }),
      /** Letters stand inside the rim; `aroundRad` is where their middle is, from the foot of the slab, counter-clockwise. */
      z.strictObject({
        along: z.literal('rim'),
        rimMm: field(0, 500, { label: 'Distance from the rim', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 40 }),
        aroundRad: field(-Math.PI, Math.PI, { label: 'Way round the rim', unit: '°', step: 1, digits: 1 }),
      }),
    ]),
  }),
  z.strictObject({
    kind: z.literal('border'),
    follows: z.enum(['picture', 'rim']),
    /** From the rim inwards, or from the picture's edge outwards, to the middle of the line. */
    distanceMm: field(-200, 500, { label: 'Distance', unit: 'mm', step: 0.5, digits: 1, sliderLow: 0, sliderHigh: 30 }),
    lineMm: field(0.1, 50, { label: 'Width of the line', unit: 'mm', step: 0.1, digits: 1, sliderHigh: 8 }),
    tone: letterTone,
  }),
]);

const pictureSchema = z.strictObject({
  /** Name of the image inside the piece file. */
  file: text,
  /** Null: all of the photograph. */
  cut: z.nullable(cutSchema),
  heals: z.array(healSchema).check(z.maxLength(500)),
  widthMm: field(1, 3000, {
    label: 'Width on the slab',
    unit: 'mm',
    step: 1,
    digits: 1,
    sliderLow: 30,
    sliderHigh: 600,
  }),
  /** Height follows from the proportions of what is used of the photo. `outline`: as far as the slab's rim allows, less `rimMm`. */
  crop: z.enum(['rectangle', 'oval', 'outline']),
  rimMm: field(0, 500, { label: 'Distance from the rim', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 40 }),
  /** Centre of the picture from the middle of the slab; y grows downwards. */
  offsetXMm: field(-3000, 3000, TO_THE_RIGHT),
  offsetYMm: field(-3000, 3000, TOWARDS_YOU),
  /** Turn about its centre, counter-clockwise. */
  rotationRad: field(-Math.PI, Math.PI, { label: 'Turned', unit: '°', step: 0.5, digits: 1 }),
  /** Width over which the picture sinks into the coat's own tone at its edge. */
  fallOffMm: field(0, 500, { label: 'Fades out over', unit: 'mm', step: 1, digits: 1, sliderHigh: 60 }),
  strokes: z.array(strokeSchema).check(z.maxLength(1000)),
  /** Null: no background was taken away. */
  matte: z.nullable(matteSchema),
  repair: repairSchema,
  tone: toneSchema,
  lettering: z.array(letteringSchema).check(z.maxLength(24)),
});

const sourceSchema = z.strictObject({
  wavelengthNm: field(150, 12000, { label: 'Wavelength', unit: 'nm', step: 1, digits: 0 }),
  fullPowerW: field(0.01, 1000, { label: 'Full power', unit: 'W', step: 0.5, digits: 2, sliderHigh: 60 }),
  /** 1/e² radii at the focus, for rows with heading 0. */
  spotAcrossMm: field(0.001, 5, {
    label: 'Spot across the rows',
    unit: 'mm',
    step: 0.005,
    digits: 3,
    sliderLow: 0.02,
    sliderHigh: 0.4,
  }),
  spotAlongMm: field(0.001, 5, {
    label: 'Spot along the rows',
    unit: 'mm',
    step: 0.005,
    digits: 3,
    sliderLow: 0.02,
    sliderHigh: 0.4,
  }),
  /** Beam propagation ratio M² (ISO 11146-1). */
  beamQuality: field(1, 1000, { label: 'Beam quality M²', unit: '', step: 0.5, digits: 2, sliderHigh: 60 }),
  /** Share of full power below which no light comes out. */
  firingFloor: field(0, 0.9, { label: 'Firing floor', unit: '%', step: 0.5, digits: 1, sliderHigh: 30 }),
  riseTimeS: field(0, 0.1, { label: 'Rise time', unit: 'µs', step: 10, digits: 0, sliderHigh: 2000 }),
  fallTimeS: field(0, 0.1, { label: 'Fall time', unit: 'µs', step: 10, digits: 0, sliderHigh: 2000 }),
  /** Set power → power that comes out, both shares, rising. Empty: straight. */
  powerCurve: risingPoints,
  /**
   * Null: the light is continuous. Else pulses a second, exponent S of incubation (threshold · N^(S − 1)) and the depth 1/α_eff of
   * the logarithmic law; the layers' thresholds then hold for one pulse.
   */
  pulses: z.nullable(
    z.strictObject({
      rateHz: field(1, 1e9, { label: 'Pulse rate', unit: 'kHz', step: 1, digits: 3, sliderLow: 1, sliderHigh: 200 }),
      incubation: field(0.5, 1, { label: 'Incubation exponent', unit: '', step: 0.01, digits: 2 }),
      depthPerPulseUm: field(0.001, 1000, {
        label: 'Depth per e-fold',
        unit: 'µm',
        step: 0.05,
        digits: 3,
        sliderLow: 0.05,
        sliderHigh: 20,
      }),
    }),
  ),
});

const motionSchema = z.strictObject({
  maxFeedMmPerS: field(0.1, 10000, { label: 'Fastest feed', unit: 'mm/min', step: 100, digits: 0, sliderHigh: 40000 }),
  accelerationMmPerS2: field(1, 1000000, {
    label: 'Acceleration',
    unit: 'mm/s²',
    step: 50,
    digits: 0,
    sliderHigh: 10000,
  }),
  runUpMm: field(0, 500, { label: 'Run-up', unit: 'mm', step: 0.5, digits: 1, sliderHigh: 30 }),
  /** Power while the head gets up to speed inside the picture: held, or scaled with the speed. */
  powerAtRamps: z.enum(['held', 'follows-feed']),
});

export const machineSchema = z.strictObject({
  name: text,
  source: sourceSchema,
  motion: motionSchema,
  /** How well a stream of air sweeps ash and smoke off the work: 0 not at all, 1 fully. */
  airFlow: field(0, 1, { label: 'Air assist', unit: '%', step: 5, digits: 0 }),
  control: controlSchema,
});

export const heatSchema = z.strictObject({
  /** Rows soon after one another start warmer. */
  carryOver: z.boolean(),
  /** Share of the absorbed energy that stays as heat. */
  retainedShare: field(0, 1, { label: 'Heat that stays', unit: '%', step: 1, digits: 0 }),
});

/** How far the truth may lie from the numbers: standard deviations of their natural logarithms. */
export const certaintySchema = z.strictObject({
  source: z.enum(['preset', 'calibrated']),
  threshold: field(0, 2, { label: 'Threshold doses', unit: '± %', step: 1, digits: 1, sliderHigh: 60 }),
  specificEnergy: field(0, 2, { label: 'Specific energies', unit: '± %', step: 1, digits: 1, sliderHigh: 60 }),
  thickness: field(0, 2, { label: 'Film thickness', unit: '± %', step: 1, digits: 1, sliderHigh: 60 }),
  power: field(0, 2, { label: 'Power', unit: '± %', step: 1, digits: 1, sliderHigh: 60 }),
  /** What a calibration knows of the numbers together; null where none was done. */
  covariance: z.nullable(covarianceSchema),
});

const passSchema = z.strictObject({
  lightEndPower: field(0, 1, { label: 'Light-end power', unit: '%', step: 0.5, digits: 1 }),
  darkEndPower: field(0, 1, { label: 'Dark-end power', unit: '%', step: 0.5, digits: 1 }),
  feedMmPerS: field(0.1, 10000, {
    label: 'Feed rate',
    unit: 'mm/min',
    step: 100,
    digits: 0,
    sliderLow: 1000,
    sliderHigh: 18000,
  }),
  rowPitchMm: field(0.01, 5, {
    label: 'Row pitch',
    unit: 'mm',
    step: 0.001,
    digits: 4,
    sliderLow: 0.05,
    sliderHigh: 0.4,
  }),
  headingRad: field(0, 2 * Math.PI, { label: 'Row direction', unit: '°', step: 1, digits: 1 }),
  rows: z.enum(['one-way', 'two-way']),
  /** How far rows burned backwards land from where they should, along the row. */
  rowOffsetErrorMm: field(-5, 5, {
    label: 'Row offset error',
    unit: 'mm',
    step: 0.01,
    digits: 2,
    sliderLow: -0.5,
    sliderHigh: 0.5,
  }),
  screen: screenMethodSchema,
  /** Every other row is screened backwards; only error diffusion heeds it. */
  serpentine: z.boolean(),
  /** Power follows heat and lag along the rows, see `burn/even-power.ts`. */
  evenPower: z.boolean(),
  focusOffsetMm: field(-100, 100, {
    label: 'Focus offset',
    unit: 'mm',
    step: 0.1,
    digits: 1,
    sliderLow: -8,
    sliderHigh: 8,
  }),
  /** Tone of its own instead of the picture's. */
  tone: z.nullable(toneSchema),
  /** Where it burns; null for everywhere. */
  only: z.nullable(burnPlacesSchema),
});

/** Where the slab lies on the machine's bed. */
const placementSchema = z.strictObject({
  bedWidthMm: field(20, 5000, {
    label: 'Bed, width',
    unit: 'mm',
    step: 5,
    digits: 1,
    sliderLow: 100,
    sliderHigh: 1000,
  }),
  bedHeightMm: field(20, 5000, {
    label: 'Bed, depth',
    unit: 'mm',
    step: 5,
    digits: 1,
    sliderLow: 100,
    sliderHigh: 1000,
  }),
  /** The slab's centre from the bed's near left corner, x to the right, y away from the maker; turn counter-clockwise. */
  xMm: field(-5000, 5000, { label: 'Slab’s middle, from the left', unit: 'mm', step: 0.5, digits: 1 }),
  yMm: field(-5000, 5000, { label: 'Slab’s middle, from the front', unit: 'mm', step: 0.5, digits: 1 }),
  turnRad: field(-Math.PI, Math.PI, {
    label: 'Slab turned on the bed',
    unit: '°',
    step: 0.1,
    digits: 2,
    sliderLow: -30,
    sliderHigh: 30,
  }),
  /** Room to keep round the slab for the head and clamps. */
  clearanceMm: field(0, 200, { label: 'Clearance round the slab', unit: 'mm', step: 1, digits: 1, sliderHigh: 40 }),
  /** Power of the perimeter walk: 0 with the beam off. */
  pilotPower: field(0, 0.1, { label: 'Pilot power', unit: '%', step: 0.1, digits: 1 }),
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
  order: orderSchema,
  /** Null: its paint and machine are from no shelf. */
  shelfEntry: z.nullable(fromShelfSchema),
  /** What was burned, newest last. */
  log: z.array(logEntrySchema(passSchema)).check(z.maxLength(200)),
});

export type Tiles = { readonly [Key in keyof typeof tilesShape]: z.infer<(typeof tilesShape)[Key]> };

export type BurnPlaces = z.infer<typeof burnPlacesSchema>;

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

export type Cut = z.infer<typeof cutSchema>;

export type PictureMatte = z.infer<typeof matteSchema>;

export type Lettering = z.infer<typeof letteringSchema>;

export type LetterFont = (typeof LETTER_FONTS)[number];

export type HealStroke = z.infer<typeof healSchema>;

export type PictureSettings = z.infer<typeof pictureSchema>;

export type Source = z.infer<typeof sourceSchema>;

export type Motion = z.infer<typeof motionSchema>;

export type Machine = z.infer<typeof machineSchema>;

export type Pass = z.infer<typeof passSchema>;

export type LogEntry = Piece['log'][number];

export type Piece = z.infer<typeof pieceSchema>;
