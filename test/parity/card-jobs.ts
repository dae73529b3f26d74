import type { Picture } from '../../src/image/picture.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';

/** Whole jobs that a card must burn as the pool does. Pure data: a page imports this too. */
export interface CardJob {
  readonly name: string;
  readonly piece: Piece;
  readonly picture: Picture;
}

const DOTS = 70;

/** Light and dark areas, a ramp, edges, and noise enough that rows differ. */
const PICTURE = pictureOf(140, 100, (x, y) => {
  const ramp = x / 140;
  const edge = ((x >> 4) + (y >> 4)) & 1 ? 0.4 : 0;
  return Math.min(1, 0.5 * ramp + edge + 0.15 * (((x * 7 + y * 13) % 11) / 11));
});

const plain = (pass: Partial<Pass> = {}): Piece => {
  const piece = plainPiece(DOTS, { screen: 'floyd-steinberg', ...pass });
  return { ...piece, slab: { ...piece.slab, widthMm: 12, heightMm: 9 } };
};

type Source = Piece['machine']['source'];
const withSource = (piece: Piece, source: Partial<Source>): Piece => ({
  ...piece,
  machine: { ...piece.machine, source: { ...piece.machine.source, ...source } },
});
const withCoats = (piece: Piece, change: (coat: Piece['stack']['coats'][number]) => object): Piece => ({
  ...piece,
  stack: { ...piece.stack, coats: piece.stack.coats.map((coat) => ({ ...coat, ...change(coat) })) },
});
const withPasses = (piece: Piece, ...passes: readonly Partial<Pass>[]): Piece => ({
  ...piece,
  passes: passes.map((pass) => ({ ...piece.passes[0], ...pass })),
});

const one = plain();
const knot = { xMm: 0, yMm: 0, diameterMm: 5, tiltRad: 0.4, filled: false };

const PIECES: readonly (readonly [string, Piece])[] = [
  ['one pass', one],
  ['continuous tone', plain({ screen: 'continuous' })],
  ['two passes', withPasses(one, {}, { lightEndPower: 0.5, focusOffsetMm: 1 })],
  ['rows of another pitch in the second pass', withPasses(one, {}, { rowPitchMm: 0.07 })],
  ['a pass the other way round', plain({ headingRad: Math.PI })],
  ['two-way rows that are off', plain({ rows: 'two-way', rowOffsetErrorMm: 0.06 })],
  ['a late source', withSource(plain({ rows: 'two-way' }), { riseTimeS: 0.0012, fallTimeS: 0.0005 })],
  ['thin films that let light by', withCoats(one, () => ({ opticalDepthUm: 4, dryThicknessUm: 6 }))],
  ['touched skin', withCoats(withPasses(one, { lightEndPower: 0.4 }, {}), () => ({ touchedFactor: 1.3 }))],
  ['no coats', { ...one, stack: { ...one.stack, coats: [] } }],
  ['one coat', { ...one, stack: { ...one.stack, coats: one.stack.coats.slice(0, 1) } }],
  ['heat', { ...plain({ rows: 'two-way' }), heat: { ...one.heat, carryOver: true } }],
  [
    'pulsed light',
    withCoats(withSource(one, { pulses: { rateHz: 20000, incubation: 0.9, depthPerPulseUm: 3 } }), () => ({
      thresholdJPerMm2: 0.003,
    })),
  ],
  ['knot and grain', { ...one, slab: { ...one.slab, knots: [knot] } }],
  ['deep into the wood', plain({ feedMmPerS: 15 })],
  ['a warped slab', { ...one, slab: { ...one.slab, bowMm: 2, domeMm: 3 } }],
];

export const CARD_JOBS: readonly CardJob[] = PIECES.map(([name, piece]) => ({ name, piece, picture: PICTURE }));
