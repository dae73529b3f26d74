/**
 * Steps that bring an older piece file up to date, by the version they start from: `MIGRATIONS[1]` makes version 2 out of
 * version 1. Each is a pure function of the parsed JSON and leaves what it does not know for the schema to complain about.
 */
export type PieceJson = Readonly<Record<string, unknown>>;
type Migration = (piece: PieceJson) => PieceJson;

const isObject = (value: unknown): value is PieceJson =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Changes each of the objects at a path, in which `*` is each of a list; what is something else stays for the schema to complain about. */
function eachAt(value: unknown, [name, ...rest]: readonly string[], change: (one: PieceJson) => PieceJson): unknown {
  if (name === undefined) return isObject(value) ? change(value) : value;
  if (name === '*') return Array.isArray(value) ? value.map((one) => eachAt(one, rest, change)) : value;
  return isObject(value) ? { ...value, [name]: eachAt(value[name], rest, change) } : value;
}

const eachOf = (piece: PieceJson, path: string, change: (one: PieceJson) => PieceJson): PieceJson =>
  eachAt(piece, path === '' ? [] : path.split('.'), change) as PieceJson;

/** A step that lays more on objects of the piece, by their paths. */
const adding =
  (added: Readonly<Record<string, PieceJson>>): Migration =>
  (piece) =>
    Object.entries(added).reduce((now, [path, more]) => eachOf(now, path, (one) => ({ ...one, ...more })), piece);

/** Screens that went, because no paper says what they are, and what comes nearest to each. */
const NEAREST_SCREENS: Readonly<Record<string, string>> = {
  burkes: 'stucki',
  'sierra-3': 'jarvis-judice-ninke',
  'sierra-2': 'jarvis-judice-ninke',
  'sierra-2-4a': 'floyd-steinberg',
  atkinson: 'floyd-steinberg',
};

/**
 * Version 9 knows what was ordered; an older piece is one slab without a day. It also says over what box the places of a pass lie: until then
 * it was all that was burned, which without lettering is the picture. Tones are wanted evenly, and power follows the tones alone. From which
 * entry of a shelf its paint is was not told. What was burned with a screen that went is logged under the one that comes nearest.
 */
function tellOrder(piece: PieceJson): PieceJson {
  const told = adding({
    '': { order: { dueOn: null, state: 'idea', quantity: 1 }, shelfEntry: null },
    'passes.*': { evenPower: false },
    'log.*.passes.*': { evenPower: false },
    'passes.*.only': { across: 1, down: 1 },
    'log.*.passes.*.only': { across: 1, down: 1 },
    'picture.tone': { intent: [] },
    'passes.*.tone': { intent: [] },
    'log.*.passes.*.tone': { intent: [] },
  })(piece);
  const screened = (pass: PieceJson) =>
    typeof pass['screen'] === 'string' ? { ...pass, screen: NEAREST_SCREENS[pass['screen']] ?? pass['screen'] } : pass;
  return eachOf(eachOf(told, 'passes.*', screened), 'log.*.passes.*', screened);
}

/** Version 5: a least power scale, and options of a quote that follow the piece. */
function raiseScaleAndFollowPiece(piece: PieceJson): PieceJson {
  const { quote } = piece;
  const options = isObject(quote) ? quote['options'] : null;
  const raised = raiseLeastPowerScale(piece);
  return Array.isArray(options)
    ? { ...raised, quote: { ...(quote as PieceJson), options: options.map(asShown) } }
    : raised;
}

/** An option that was never touched offered 250 mm, whatever the piece was. */
function asShown(option: unknown): unknown {
  const untouched =
    isObject(option) && option['name'] === 'As shown' && option['pictureWidthMm'] === 250 && option['passes'] === 1;
  return untouched ? { ...option, pictureWidthMm: null, passes: null } : option;
}

/** A power scale below 1, with which programs burned nothing, becomes 1, the one nearest to what was set. */
function raiseLeastPowerScale(piece: PieceJson): PieceJson {
  const { machine } = piece;
  const control = isObject(machine) ? machine['control'] : null;
  const scale = isObject(control) ? control['powerScale'] : null;
  if (!isObject(machine) || typeof scale !== 'number' || !(scale >= 0 && scale < 1)) return piece;
  return { ...piece, machine: { ...machine, control: { ...(control as PieceJson), powerScale: 1 } } };
}

/** Version 6 knows films that let light by as they vanish; until then none did. */
function tellOpticalDepths(piece: PieceJson): PieceJson {
  return { ...piece, stack: withOpticalDepths(piece['stack']) };
}

/** A stack as JSON whose coats say how deep the beam goes: not at all where they do not say so. */
export function withOpticalDepths(stack: unknown): unknown {
  if (!isObject(stack) || !Array.isArray(stack['coats'])) return stack;
  return { ...stack, coats: stack['coats'].map((coat) => (isObject(coat) ? { opticalDepthUm: 0, ...coat } : coat)) };
}

/** Version 7 knows skin that takes up more of the beam once a pass has touched it; until then none did. */
function tellTouchedSkin(piece: PieceJson): PieceJson {
  return { ...piece, stack: withTouchedSkin(piece['stack']) };
}

/** A stack as JSON whose coats say what touched skin takes up: no more where they do not say so. */
export function withTouchedSkin(stack: unknown): unknown {
  if (!isObject(stack) || !Array.isArray(stack['coats'])) return stack;
  return { ...stack, coats: stack['coats'].map((coat) => (isObject(coat) ? { touchedFactor: 1, ...coat } : coat)) };
}

const UPRIGHT_PICTURE = {
  rotationRad: 0,
  fallOffMm: 0,
  strokes: [],
  repair: { cast: 0, fade: 0, localContrast: 0, noise: 0, scratches: 0 },
};
const LAID_ON_BED = {
  bedWidthMm: 400,
  bedHeightMm: 400,
  xMm: 200,
  yMm: 200,
  turnRad: 0,
  clearanceMm: 5,
  pilotPower: 0,
  referenceMark: false,
};
const PLAIN_SLAB = {
  outlineMm: [],
  cut: 'slice',
  edge: 'bark',
  finish: 'sanded',
  pithXMm: 0,
  pithYMm: 0,
  grainSeed: 1,
  knots: [],
  checks: [],
  bowMm: 0,
  domeMm: 0,
  maskedRimMm: 0,
  seepMm: 0,
};
const PLAIN_WOOD = {
  densityKgPerM3: 510,
  ringWidthMm: 2,
  ringContrast: 1,
  ringLightness: 0,
  sawnReliefUm: 0,
  sandedReliefUm: 0,
  lightnessLoss: 50.5,
};
const CONTROL = {
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
const PLAIN_QUOTE = {
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
  options: [{ name: 'As shown', pictureWidthMm: 250, passes: 1, slabCost: 18, handworkMinutes: 60 }],
};
/** Version 6 shows films as thick as their mean; what a photograph told of one held for the drawn film under it. */
function tellWhichFilm(piece: PieceJson): PieceJson {
  const { stack } = piece;
  if (!isObject(stack) || !isObject(stack['film'])) return piece;
  const { found } = stack['film'];
  return { ...piece, stack: { ...stack, film: { shown: found ? 'drawn' : 'mean', ...stack['film'] } } };
}

/** Version 6 knows how deep a coat takes up the beam, and which of the films that may lie on a slab is shown. */
const tellFilms: Migration = (piece) => tellWhichFilm(tellOpticalDepths(piece));

const MIGRATIONS: Readonly<Record<number, Migration>> = {
  // Version 2 knows how a coat was put on; until then its unevenness was all that was told.
  1: adding({
    'stack.coats.*': { layers: 1, volumeSolids: 0.35, thinnerShare: 0, application: { kind: 'even' } },
  }),
  // Version 3 knows the wood under the coats, warped slabs, taped rims, pulses, air, heat and how sure the numbers are. An older piece gets
  // what makes no difference: plain flat wood, no heat, all ash swept away.
  2: adding({
    slab: PLAIN_SLAB,
    'slab.wood': PLAIN_WOOD,
    'stack.coats.*': { sandedAfter: false, usualLayerUm: [5, 60], wantedLab: null },
    machine: { airFlow: 1 },
    'machine.source': { pulses: null },
    picture: UPRIGHT_PICTURE,
    '': {
      placement: LAID_ON_BED,
      heat: { carryOver: false, retainedShare: 0.3 },
      certainty: { source: 'preset', threshold: 0.2, specificEnergy: 0.2, thickness: 0.12, power: 0.05 },
    },
  }),
  // Version 4 knows passes that burn in some places only, slabs that show their own photographed face, and the machine's controller.
  3: adding({
    machine: { control: CONTROL },
    '': { quote: PLAIN_QUOTE, log: [] },
    stack: { cureHours: 72 },
    'stack.film': { found: null },
    'stack.coats.*': { dryHours: 2 },
    certainty: { covariance: null },
    slab: { photo: null },
    'passes.*': { only: null },
  }),
  4: raiseScaleAndFollowPiece,
  5: tellFilms,
  6: tellTouchedSkin,
  // Version 8 knows a cut of the photograph, healed places, a background taken away, a crop along the rim, and lettering.
  7: adding({ picture: { cut: null, heals: [], rimMm: 0, matte: null, lettering: [] } }),
  8: tellOrder,
};

/**
 * Applies the steps from one version to another, in order, and sets the version after each.
 * @throws RangeError if a step is missing.
 */
export function migratePiece(
  piece: PieceJson,
  from: number,
  to: number,
  migrations: Readonly<Record<number, Migration>> = MIGRATIONS,
): PieceJson {
  let current = piece;
  for (let version = from; version < to; version++) {
    const step = migrations[version];
    if (!step) throw new RangeError(`there is no step from version ${version} of the piece file to ${version + 1}`);
    current = { ...step(current), version: version + 1 };
  }
  return current;
}
