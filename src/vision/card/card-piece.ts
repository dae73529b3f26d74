import { NEUTRAL_TONE, NO_REPAIR, plainSlab } from '../../piece/defaults.ts';
import type { BurnPlaces, Pass, Piece } from '../../piece/schema.ts';
import { packPlaces } from '../../piece/tiles.ts';
import { type Card, type CardBox, type CardBurn, CardError, EDGE_MM, MARK_MM, powerOf } from './card.ts';
import { labelBox } from './picture.ts';

const MOST_PASSES = 12;

/**
 * The card as a piece whose picture is `cardPicture(card)`, to be proofed and burned like any other: one pass for marks and labels,
 * then one for each setting but the power, which is told by the picture's lightness. Passes keep to their patches by tiles of a
 * millimetre.
 * @throws CardError if the card needs more than twelve passes.
 */
export function cardPiece(card: Card, piece: Piece, pictureFile = 'card.png'): Piece {
  const groups = new Map<string, { burn: CardBurn; zones: CardBox[]; order: number; twoWay: boolean }>();
  const add = (burn: CardBurn, zone: CardBox, order: number, twoWay = false, apart = false) => {
    const { lightness, ...rest } = burn;
    const key = JSON.stringify([order, twoWay, apart, rest]);
    const group = groups.get(key) ?? { burn, zones: [], order, twoWay };
    group.zones.push(zone);
    groups.set(key, group);
  };
  const usualMm = Math.min(...card.patches.map(({ box }) => box.widthMm));
  for (const patch of card.patches) {
    const last = patch.burns.length - 1;
    // Only the last burn reads its power from the picture; those before it are the same at both ends.
    // A large patch gets warm because its rows are short: they are no part of longer ones.
    const apart = patch.box.widthMm > usualMm;
    for (const [i, burn] of patch.burns.entries()) add(i === last ? burn : evenEnds(burn), patch.box, i, false, apart);
  }
  for (const { burn, box } of card.lines) add(burn, around(box), 0);
  if (card.vernier) add(card.vernier.burn, card.vernier.box, 0, true);
  const ordered = [...groups.values()].sort((a, b) => a.order - b.order);
  if (ordered.length + 1 > MOST_PASSES) {
    throw new CardError(`the card needs ${ordered.length + 1} passes, a piece has at most ${MOST_PASSES}`);
  }
  const passes = [
    passOf(piece, card.marking, tilesOf(card, markingZones(card)), true),
    ...ordered.map(({ burn, zones, twoWay }) => passOf(piece, burn, tilesOf(card, zones), twoWay)),
  ];
  return {
    ...piece,
    name: `Card ${card.id}`,
    slab: {
      ...plainSlab(piece.slab),
      shape: 'rectangle',
      widthMm: card.widthMm,
      heightMm: card.heightMm,
      outlineMm: [],
      checks: [],
      bowMm: 0,
      domeMm: 0,
    },
    picture: {
      ...piece.picture,
      file: pictureFile,
      widthMm: card.widthMm,
      crop: 'rectangle',
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
      tone: NEUTRAL_TONE,
    },
    passes,
  };
}

const evenEnds = (burn: CardBurn): CardBurn => ({
  ...burn,
  lightEndPower: powerOf(burn),
  darkEndPower: powerOf(burn),
  lightness: 1,
});

/** Room for a line's own width. */
const around = ({ xMm, yMm, widthMm, heightMm }: CardBox): CardBox => ({
  xMm: widthMm === 0 ? xMm - 1 : xMm,
  yMm: heightMm === 0 ? yMm - 1 : yMm,
  widthMm: widthMm === 0 ? 2 : widthMm,
  heightMm: heightMm === 0 ? 2 : heightMm,
});

/** Bands of marks and code, and the labels. */
function markingZones(card: Card): CardBox[] {
  const { widthMm, heightMm } = card;
  const labels = [...card.patches, ...card.lines].map(({ box, label }) => labelBox(label, box));
  const low = heightMm - EDGE_MM - MARK_MM;
  return [
    { xMm: EDGE_MM, yMm: EDGE_MM, widthMm: widthMm - 2 * EDGE_MM, heightMm: MARK_MM },
    { xMm: EDGE_MM, yMm: low, widthMm: MARK_MM, heightMm: MARK_MM },
    { xMm: widthMm - EDGE_MM - MARK_MM, yMm: low, widthMm: MARK_MM, heightMm: MARK_MM },
    ...labels,
  ];
}

/** Tiles of a millimetre that touch a zone. */
function tilesOf(card: Card, zones: readonly CardBox[]): BurnPlaces {
  const columns = Math.round(card.widthMm);
  const rows = Math.round(card.heightMm);
  const tiles = new Uint8Array(columns * rows);
  for (const { xMm, yMm, widthMm, heightMm } of zones) {
    const bottom = Math.min(rows, Math.ceil(yMm + heightMm - 1e-9));
    const right = Math.min(columns, Math.ceil(xMm + widthMm - 1e-9));
    for (let y = Math.max(0, Math.floor(yMm)); y < bottom; y++) {
      tiles.fill(1, y * columns + Math.max(0, Math.floor(xMm)), y * columns + right);
    }
  }
  return packPlaces(columns, rows, tiles);
}

function passOf(piece: Piece, burn: CardBurn, only: BurnPlaces, twoWay: boolean): Pass {
  const [pass] = piece.passes;
  return {
    ...pass,
    lightEndPower: burn.lightEndPower,
    darkEndPower: burn.darkEndPower,
    feedMmPerS: burn.feedMmPerS,
    rowPitchMm: burn.rowPitchMm,
    headingRad: burn.headingRad,
    rows: twoWay ? 'two-way' : pass.rows,
    screen: burn.screen,
    serpentine: burn.serpentine,
    focusOffsetMm: burn.focusOffsetMm,
    tone: null,
    only,
  };
}

/** What is done to the scrap before a card is burned on it. */
export const CARD_PREPARATION: readonly string[] = [
  'Paint the scrap with the same coats in the same way. Before the top coat, tape off the place between the two lower corner marks, so that it stays bare undercoat; take the tape off again.',
  'Strong patches char and thin scrap burns through: lay it on something that cannot burn.',
];
