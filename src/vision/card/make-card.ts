import { quantity, wholeQuantity } from '../../base/quantity.ts';
import { createGenerator } from '../../base/random/generator.ts';
import { outputPowerW, rayleighLengthMm } from '../../physics/beam/gaussian.ts';
import { spreadLineRise, woodThermal } from '../../physics/heat/heat-sources.ts';
import type { Piece } from '../../piece/schema.ts';
import {
  type Card,
  type CardBox,
  type CardBurn,
  CardError,
  type CardKind,
  type CardLine,
  type CardPatch,
  EDGE_MM,
  hash16,
  INNER_TOP_MM,
  MARK_MM,
  powerOf,
  SMALLEST_CARD_MM,
} from './card.ts';

/** What a maker may choose of a card; the rest follows from the piece. */
export interface CardWish {
  readonly widthMm: number;
  readonly heightMm: number;
  /** Powers of the wedge, share of full power; null: from nothing to well past what the piece says clears. */
  readonly powers: readonly [low: number, high: number] | null;
  readonly steps: number;
  /** Side of a patch, whole mm. */
  readonly patchMm: number;
  readonly seed: number;
  /** Set power that clears, share of full power, where it was worked out; null: by a rule of thumb from the piece's numbers. */
  readonly clearing: number | null;
}

const PERCENT = { unit: '%', step: 1, digits: 1 } as const;

/** What a maker may set of a card. */
export const CARD_QUANTITIES = {
  widthMm: wholeQuantity(SMALLEST_CARD_MM.width, 400, {
    label: 'Width',
    unit: 'mm',
    step: 1,
    digits: 0,
    sliderHigh: 160,
  }),
  heightMm: wholeQuantity(SMALLEST_CARD_MM.height, 400, {
    label: 'Height',
    unit: 'mm',
    step: 1,
    digits: 0,
    sliderHigh: 120,
  }),
  weakest: quantity(0, 0.99, { label: 'Weakest', ...PERCENT }),
  strongest: quantity(0.01, 1, { label: 'Strongest', ...PERCENT }),
  steps: wholeQuantity(5, 60, { label: 'Steps', unit: '', step: 1, digits: 0, sliderHigh: 32 }),
  patchMm: wholeQuantity(4, 20, { label: 'Patch', unit: 'mm', step: 1, digits: 0 }),
};

/** A playing card. */
export const CARD_WISH: CardWish = {
  widthMm: 88,
  heightMm: 63,
  powers: null,
  steps: 16,
  patchMm: 6,
  seed: 1,
  clearing: null,
};

/** Fewer patches make no card. */
const LEAST_PATCHES = 5;

/** Room for a label under a patch, and between patches, mm. */
const LABEL_MM = 3;

const GAP_MM = 2;

const pitchX = (wish: CardWish): number => wish.patchMm + GAP_MM;

const pitchY = (wish: CardWish): number => wish.patchMm + LABEL_MM + GAP_MM;

/** Places along and down that one large patch takes: it gets warm as it is burned, in rows of its own. */
const LARGE = { columns: 3, rows: 2 };

/** Places for patches on a card, row by row. */
function patchPlaces(wish: CardWish): { xMm: number; yMm: number }[] {
  const columns = Math.floor((wish.widthMm - 2 * EDGE_MM + GAP_MM) / pitchX(wish));
  const bottom = wish.heightMm - EDGE_MM - MARK_MM - 1;
  const rows = Math.floor((bottom - INNER_TOP_MM + GAP_MM) / pitchY(wish));
  const left = Math.round((wish.widthMm - columns * pitchX(wish) + GAP_MM) / 2);
  return Array.from({ length: Math.max(0, rows * columns) }, (_, i) => ({
    xMm: left + (i % columns) * pitchX(wish),
    yMm: INNER_TOP_MM + Math.floor(i / columns) * pitchY(wish),
  }));
}

/**
 * A card for a piece. Patches are shuffled over it and, as far as there is room, repeated, so that a film that gets thicker from one side
 * to the other cannot pass for another paint.
 * @throws CardError if the size leaves no room or the piece has no coat.
 */
export function makeCard(kind: CardKind, piece: Piece, wish: CardWish = CARD_WISH): Card {
  if (piece.stack.coats.length === 0) throw new CardError('a card measures coats; this slab has none');
  if (wish.widthMm < SMALLEST_CARD_MM.width || wish.heightMm < SMALLEST_CARD_MM.height) {
    throw new CardError(
      `a card needs at least ${SMALLEST_CARD_MM.width} × ${SMALLEST_CARD_MM.height} mm, got ${wish.widthMm} × ${wish.heightMm} mm`,
    );
  }
  const parts =
    kind === 'lines' ? { patches: [], ladders: [], ...lineParts(piece, wish) } : patchParts(kind, piece, wish);
  const card: Card = {
    format: 'foreburn-card',
    version: 1,
    kind,
    id: 0,
    widthMm: wish.widthMm,
    heightMm: wish.heightMm,
    pitchMm: piece.passes[0].rowPitchMm,
    marking: markingBurn(piece),
    reference: {
      xMm: Math.round(wish.widthMm / 2) - 6,
      yMm: wish.heightMm - EDGE_MM - MARK_MM,
      widthMm: 12,
      heightMm: MARK_MM,
    },
    lines: [],
    vernier: null,
    ...parts,
  };
  return { ...card, id: hash16(JSON.stringify(card)) };
}

/** The first pass of the piece as an even burn at one power. */
export function evenBurn(piece: Piece, power: number, more: Partial<CardBurn> = {}): CardBurn {
  const [pass] = piece.passes;
  return {
    lightEndPower: power,
    darkEndPower: 0,
    lightness: 1,
    screen: 'continuous',
    serpentine: pass.serpentine,
    feedMmPerS: pass.feedMmPerS,
    rowPitchMm: pass.rowPitchMm,
    headingRad: 0,
    focusOffsetMm: pass.focusOffsetMm,
    ...more,
  };
}

/**
 * Set power that just clears the top coat by the piece's numbers, down to a µm where thin films let light by: with rows a pitch apart the film gets
 * about P / (v p).
 */
export function likelyClearing(piece: Piece): number {
  const [pass] = piece.passes;
  const [top] = piece.stack.coats;
  const { fullPowerW, spotAcrossMm } = piece.machine.source;
  const peak = Math.sqrt(2 / Math.PI) / (pass.feedMmPerS * spotAcrossMm);
  const crossings = Math.max(1, (spotAcrossMm * Math.sqrt(Math.PI / 2)) / pass.rowPitchMm);
  const { dryThicknessUm, opticalDepthUm: thin } = top;
  // What a film of 1 µm still takes up, against all that a thick one does (`burn.kernel.ts`).
  const lostUm =
    thin > 0 && dryThicknessUm > 1
      ? thin * Math.log((1 - Math.exp(-dryThicknessUm / thin)) / (1 - Math.exp(-1 / thin))) - 1
      : 0;
  const dose =
    top.thresholdJPerMm2 + (top.specificEnergyJPerMm3 * (dryThicknessUm + Math.max(0, lostUm)) * 1e-3) / crossings;
  return dose / (top.absorptance * fullPowerW * peak);
}

/**
 * How far past clearing marks, code and labels are burned: they must come out light whatever the truth. A paint that takes half as much
 * again under a spot a fifth wider wants 1.9 times the power (test/reference/dark-card.test.ts).
 */
const MARKING = 2.4;

/** A first pass that leaves work for a second: share of the power that clears. */
export const WEAK_SHARE = 0.86;

/** Slower if full power does not reach that. */
function markingBurn(piece: Piece): CardBurn {
  const wanted = MARKING * likelyClearing(piece);
  const power = Math.min(1, wanted);
  return evenBurn(piece, power, { feedMmPerS: Math.max(0.1, (piece.passes[0].feedMmPerS * power) / wanted) });
}

interface PatchParts {
  readonly patches: CardPatch[];
  readonly ladders: Card['ladders'];
}

/** The settings of each kind, in the order of its ladder; patches that are no part of one come after. */
function patchParts(kind: CardKind, piece: Piece, wish: CardWish): PatchParts {
  const places = patchPlaces(wish);
  const steps = Math.min(wish.steps, places.length);
  const clearing = wish.clearing ?? likelyClearing(piece);
  const [low, high] = wish.powers ?? [0.2 * clearing, Math.min(1, 2.2 * clearing)];
  const level = (share: number) => Math.round(share * 255) / 255;
  const powers = (steps: number) => powerSteps(low, high, clearing, steps).map((power) => level(power / high));
  const wedge = (steps: number, before: CardBurn[], more: Partial<CardBurn> = {}, top = high): CardBurn[][] =>
    powers(steps).map((lightness) => [...before, evenBurn(piece, top, { lightness, ...more })]);
  const [pass] = piece.passes;
  let rows: { name: string; burns: CardBurn[][] }[];
  switch (kind) {
    case 'swatch': {
      const perFeed = Math.max(3, Math.floor(places.length / 4));
      rows = [0.5, 0.75, 1, 1.5].map((factor) => ({
        name: `feed × ${factor}`,
        burns: wedge(perFeed, [], { feedMmPerS: pass.feedMmPerS * factor }, Math.min(1, high * factor ** 0.9)),
      }));
      break;
    }
    case 'tones':
      rows = [
        {
          name: 'tones',
          burns: Array.from({ length: 17 }, (_, i) => [
            evenBurn(piece, pass.lightEndPower, {
              darkEndPower: pass.darkEndPower,
              lightness: i / 16,
              screen: pass.screen,
            }),
          ]),
        },
      ];
      break;
    case 'second-pass': {
      const weak = evenBurn(piece, level(Math.min(1, WEAK_SHARE * clearing)));
      rows = [{ name: 'second pass', burns: wedge(steps, [weak], {}, Math.min(1, 0.9 * clearing)) }];
      break;
    }
    case 'check-strip':
      rows = [{ name: 'check', burns: wedge(Math.min(8, places.length), []) }];
      break;
    default:
      rows = [{ name: 'power', burns: wedge(steps, []) }];
  }
  const all = rows.flatMap(({ burns }) => burns);
  if (all.length > places.length || places.length < LEAST_PATCHES) {
    throw new CardError(
      `${all.length} patches do not fit: ${wish.widthMm} × ${wish.heightMm} mm has room for ${places.length}`,
    );
  }
  // A wedge that leaves room gives it to a large patch first: the right lower corner, at a step that has not quite cleared.
  const large = kind === 'step-wedge' ? largeBox(places, all.length, wish) : null;
  const small = large ? places.filter((place) => !within(place, large)) : places;
  // What room is left repeats every other step, from the strong end: there the lightness tells most.
  const repeats = all.map((_, i) => all.length - 1 - ((2 * i) % all.length) - (2 * i >= all.length ? 1 : 0));
  const order = [...all.keys(), ...repeats.filter((i) => i >= 0).slice(0, small.length - all.length)];
  const shuffled = shuffle(order.length, wish.seed);
  const patches = order.map((source, i): CardPatch => {
    const repeat = i >= all.length;
    const burns = all[source];
    return {
      id: `${source + 1}${repeat ? 'r' : ''}`,
      label: String(source + 1),
      box: { ...small[shuffled[i]], widthMm: wish.patchMm, heightMm: wish.patchMm },
      burns,
      warmthPerShareK: burns.map((burn) => warmthPerShareK(piece, burn, wish.patchMm, wish.widthMm)),
    };
  });
  if (large) {
    const near = all.findIndex(([burn]) => powerOf(burn) >= 0.9 * clearing);
    const burns = all[near < 0 ? all.length - 1 : near];
    const label = String(all.length + 1);
    const warm = burns.map((burn) => warmthPerShareK(piece, burn, large.heightMm, large.widthMm));
    patches.push({ id: label, label, box: large, burns, warmthPerShareK: warm });
  }
  let from = 0;
  const ladders = rows.map(({ name, burns }) => {
    const ids = burns.map((_, i) => String(from + i + 1));
    from += burns.length;
    return { name, patches: ids };
  });
  return { patches, ladders };
}

/** Powers from low to high, two thirds of them within 45 % of where the paint likely clears: there the lightness tells most. */
function powerSteps(low: number, high: number, clearing: number, steps: number): number[] {
  const from = Math.max(low, 0.55 * clearing);
  const to = Math.min(high, 1.45 * clearing);
  if (!(from < to)) return Array.from({ length: steps }, (_, i) => low + ((high - low) * i) / Math.max(1, steps - 1));
  // Equal steps of a measure that runs three times as fast outside.
  const speed = 3;
  const ends = [(from - low) / speed, to - from, (high - to) / speed];
  const whole = ends[0] + ends[1] + ends[2];
  return Array.from({ length: steps }, (_, i) => {
    const way = (whole * i) / Math.max(1, steps - 1);
    if (way <= ends[0]) return low + way * speed;
    if (way <= ends[0] + ends[1]) return from + way - ends[0];
    return to + (way - ends[0] - ends[1]) * speed;
  });
}

/** Fisher–Yates with our generator: place of each patch. */
function shuffle(count: number, seed: number): number[] {
  const random = createGenerator(seed);
  const order = Array.from({ length: count }, (_, i) => i);
  for (let i = count - 1; i > 0; i--) {
    const j = Math.floor(random.nextUnit() * (i + 1));
    [order[i], order[j]] = [order[j], order[i]];
  }
  return order;
}

/** The right lower corner of the places, if enough of them stay for the others; null where there is no room. */
function largeBox(places: readonly { xMm: number; yMm: number }[], needed: number, wish: CardWish): CardBox | null {
  const columns = places.filter(({ yMm }) => yMm === places[0].yMm).length;
  const rows = places.length / columns;
  if (columns <= LARGE.columns || rows < LARGE.rows + 1 || places.length - LARGE.columns * LARGE.rows < needed)
    return null;
  const { xMm, yMm } = places[(rows - LARGE.rows) * columns + columns - LARGE.columns];
  return {
    xMm,
    yMm,
    widthMm: LARGE.columns * pitchX(wish) - GAP_MM,
    heightMm: LARGE.rows * pitchY(wish) - GAP_MM - LABEL_MM,
  };
}

const within = ({ xMm, yMm }: { xMm: number; yMm: number }, box: CardBox): boolean =>
  xMm >= box.xMm && xMm < box.xMm + box.widthMm && yMm >= box.yMm && yMm < box.yMm + box.heightMm;

/**
 * How warm a patch is in its middle rows if all of the heat stayed, K: rows before it as line sources (see `heat-sources.ts`), each of
 * them over `rowMm` in time: the card's width, or the patch's own where it has a pass to itself.
 */
function warmthPerShareK(piece: Piece, burn: CardBurn, patchMm: number, rowMm: number): number {
  const { machine, slab, stack } = piece;
  const ground = woodThermal(slab.wood.densityKgPerM3);
  const watts = outputPowerW(machine.source, powerOf(burn));
  const heatJPerMm = (stack.coats[0].absorptance * watts) / burn.feedMmPerS;
  const periodS = rowMm / burn.feedMmPerS + (2 * burn.feedMmPerS) / machine.motion.accelerationMmPerS2;
  const rows = Math.floor(patchMm / burn.rowPitchMm / 2);
  let sum = 0;
  for (let n = 1; n <= rows; n++) {
    const timeS = n * periodS;
    // A patch is short: its heat spreads past its sides as well.
    const spread = Math.sqrt(2 * ground.diffusivityMm2PerS * timeS);
    const share = Math.min(1, patchMm / (Math.sqrt(2 * Math.PI) * spread));
    sum += share * spreadLineRise(ground, heatJPerMm, machine.source.spotAcrossMm, n * burn.rowPitchMm, 0, timeS);
  }
  return Math.min(10000, sum);
}

const LINE_MM = 10;

/** Lines are this far apart, so that none finds the heat or the groove of the one before. */
const APART_MM = 3;

/** Heights of focus in Rayleigh lengths. */
const FOCUS_STEPS = [-0.8, -0.4, 0, 0.4, 0.8];

/**
 * Single lines at rising power, along the rows and across them (an oval spot), the same power at several heights of focus, and a
 * vernier of both directions. Powers go from where a single line just shows to four times that: a lone line gets one crossing only.
 */
function lineParts(piece: Piece, wish: CardWish): Pick<Card, 'lines' | 'vernier'> {
  const [top] = piece.stack.coats;
  const { spotAcrossMm, fullPowerW } = piece.machine.source;
  const feed = piece.passes[0].feedMmPerS;
  // What clears by one crossing; at the feed of the piece that may be beyond full power: then the lines run slower.
  const single =
    ((top.thresholdJPerMm2 + top.specificEnergyJPerMm3 * top.dryThicknessUm * 1e-3) * feed * spotAcrossMm) /
    (top.absorptance * fullPowerW * Math.sqrt(2 / Math.PI));
  const strongest = 3 * single;
  const high = Math.min(1, Math.max(strongest, likelyClearing(piece)));
  const slower = Math.min(1, high / strongest);
  const even: Partial<CardBurn> = { feedMmPerS: feed * slower };
  const height = wish.heightMm - INNER_TOP_MM - EDGE_MM - MARK_MM - 2;
  const count = Math.min(12, Math.max(4, Math.floor(height / APART_MM)));
  const power = (i: number) => Math.round(255 * (0.3 + (0.7 * i) / (count - 1))) / 255;
  const line = (id: string, label: string, xMm: number, yMm: number, across: boolean, burn: CardBurn): CardLine => ({
    id,
    label,
    box: { xMm, yMm, widthMm: across ? 0 : LINE_MM, heightMm: across ? LINE_MM : 0 },
    burn,
  });
  const lines: CardLine[] = [];
  const left = EDGE_MM + 2;
  for (let i = 0; i < count; i++) {
    lines.push(
      line(
        `a${i + 1}`,
        String(i + 1),
        left,
        INNER_TOP_MM + 1 + i * APART_MM,
        false,
        evenBurn(piece, high, { ...even, lightness: power(i) }),
      ),
    );
  }
  const secondX = left + LINE_MM + 8;
  const across = Math.min(count, Math.floor((wish.widthMm - secondX - EDGE_MM) / APART_MM));
  for (let i = 0; i < across; i++) {
    const share = across > 1 ? Math.round((i * (count - 1)) / (across - 1)) : 0;
    lines.push(
      line(
        `c${i + 1}`,
        String(share + 1),
        secondX + i * APART_MM,
        INNER_TOP_MM + 1,
        true,
        evenBurn(piece, high, { ...even, lightness: power(share), headingRad: Math.PI / 2 }),
      ),
    );
  }
  const below = INNER_TOP_MM + LINE_MM + 7;
  const { wavelengthNm, beamQuality } = piece.machine.source;
  const rayleighMm = rayleighLengthMm(spotAcrossMm, wavelengthNm, beamQuality);
  FOCUS_STEPS.forEach((step, i) => {
    const offset = Math.min(50, Math.max(-50, Math.round(2 * step * rayleighMm) / 2));
    if (below + i * APART_MM > wish.heightMm - EDGE_MM - MARK_MM - 2) return;
    const focusOffsetMm = piece.passes[0].focusOffsetMm + offset;
    lines.push(
      line(
        `f${i + 1}`,
        String(offset),
        secondX,
        below + i * APART_MM,
        false,
        evenBurn(piece, high, { ...even, focusOffsetMm }),
      ),
    );
  });
  const vernierX = secondX + LINE_MM + 8;
  const teeth = 2 * Math.floor(Math.min(10, (wish.widthMm - vernierX - EDGE_MM - 2) / 3)) + 1;
  const room = below + 6 <= wish.heightMm - EDGE_MM - MARK_MM - 1 && teeth >= 5;
  const burn = evenBurn(piece, Math.min(1, 1.5 * likelyClearing(piece)));
  const box = { xMm: vernierX, yMm: below, widthMm: teeth * 1.5 + 3, heightMm: 6 };
  return { lines, vernier: room ? { box, teeth, pitchMm: 1.5, stepMm: 0.05, burn } : null };
}
