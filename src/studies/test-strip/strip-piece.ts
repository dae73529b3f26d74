import { NO_REPAIR } from '../../piece/defaults.ts';
import type { Pass, Piece, Tiles } from '../../piece/schema.ts';
import { packTiles } from '../../piece/tiles.ts';
import type { StripBox, StripLayout } from './strip-layout.ts';
import { MOST_BANDS, type StripBand } from './strip-order.ts';

const MOST_PASSES = 12;

export const STRIP_PICTURE_FILE = 'strip.png';

/**
 * The strip as a piece whose picture is `stripPicture`, on a rectangle of scrap of the same wood under the same coats, for the same
 * machine: to be proofed and burned like any other. A pass for the labels, the passes before the last over all bands, and the last once
 * for every band with the band's own power or feed.
 * @throws RangeError if that takes more passes than a piece can have.
 */
export function stripPiece(piece: Piece, layout: StripLayout): Piece {
  const last = piece.passes[piece.passes.length - 1];
  const before = piece.passes.slice(0, -1);
  if (before.length + layout.bands.length + 1 > MOST_PASSES) {
    throw new RangeError(
      `a strip of ${layout.bands.length} bands after ${before.length} passes takes more than ${MOST_PASSES} passes; take at most ${Math.min(MOST_BANDS, MOST_PASSES - 1 - before.length)} bands`,
    );
  }
  const all = tilesOf(
    layout,
    layout.bands.map(({ box }) => box),
  );
  const labels = tilesOf(
    layout,
    layout.bands.map(({ labelBox }) => labelBox),
  );
  const passes = [
    { ...strongestOf(piece), only: labels, tone: null },
    ...before.map((pass) => ({ ...pass, only: all })),
    ...layout.bands.map((band) => ({ ...bandPass(last, band), only: tilesOf(layout, [band.box]) })),
  ];
  return {
    ...piece,
    name: `${piece.name}, test strip`.trim(),
    slab: {
      ...piece.slab,
      shape: 'rectangle',
      widthMm: layout.widthMm,
      heightMm: layout.heightMm,
      outlineMm: [],
      edge: 'sawn',
      photo: null,
      knots: [],
      checks: [],
      bowMm: 0,
      domeMm: 0,
      maskedRimMm: 0,
    },
    stack: { ...piece.stack, film: { ...piece.stack.film, found: null } },
    picture: {
      ...piece.picture,
      file: STRIP_PICTURE_FILE,
      widthMm: layout.widthMm,
      crop: 'rectangle',
      offsetXMm: 0,
      offsetYMm: 0,
      rotationRad: 0,
      fallOffMm: 0,
      strokes: [],
      repair: NO_REPAIR,
    },
    passes,
    log: [],
  };
}

/** The pass as a band burns it. */
export const bandPass = (pass: Pass, { vary, value }: StripBand): Pass =>
  vary === 'power' ? { ...pass, lightEndPower: value } : { ...pass, feedMmPerS: value };

const strongestOf = ({ passes }: Piece): Pass =>
  passes.reduce((most, pass) =>
    pass.lightEndPower / pass.feedMmPerS > most.lightEndPower / most.feedMmPerS ? pass : most,
  );

/** Tiles of a millimetre in boxes. */
function tilesOf({ widthMm, heightMm }: StripLayout, boxes: readonly StripBox[]): Tiles {
  const tiles = new Uint8Array(widthMm * heightMm);
  for (const { xMm, yMm, widthMm: width, heightMm: height } of boxes) {
    for (let y = yMm; y < yMm + height; y++) tiles.fill(255, y * widthMm + xMm, y * widthMm + xMm + width);
  }
  return packTiles(widthMm, heightMm, tiles);
}
