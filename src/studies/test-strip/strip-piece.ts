import { wholeQuantity } from '../../base/quantity.ts';
import { mmPerSToMmPerMin } from '../../base/units.ts';
import { NO_REPAIR } from '../../piece/defaults.ts';
import type { CropBox } from '../../piece/frame.ts';
import type { BurnPlaces, Pass, Piece } from '../../piece/schema.ts';
import { packPlaces } from '../../piece/tiles.ts';

const MOST_PASSES = 12;

export const STRIP_PICTURE_FILE = 'strip.png';

/** What is done to the scrap before a strip is burned on it. */
export const STRIP_PREPARATION: readonly string[] = [
  'Take scrap of the same wood, painted with the same coats in the same way, and let them cure as on the slab.',
];

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
      matte: null,
      cut: null,
      heals: [],
      rimMm: 0,
      lettering: [],
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
function tilesOf({ widthMm, heightMm }: StripLayout, boxes: readonly StripBox[]): BurnPlaces {
  const tiles = new Uint8Array(widthMm * heightMm);
  for (const { xMm, yMm, widthMm: width, heightMm: height } of boxes) {
    for (let y = yMm; y < yMm + height; y++) tiles.fill(255, y * widthMm + xMm, y * widthMm + xMm + width);
  }
  return packPlaces(widthMm, heightMm, tiles);
}

/** What a test strip is to try: the same part of the picture in bands, the light-end power or the feed changing from the first to the last. */
export interface StripOrder {
  readonly crop: CropBox;
  readonly vary: 'power' | 'feed';
  /** Shares of full power, or mm/s. */
  readonly from: number;
  readonly to: number;
  readonly bands: number;
}

const FEWEST_BANDS = 3;

export const MOST_BANDS = 9;

export const BANDS = wholeQuantity(FEWEST_BANDS, MOST_BANDS, { label: 'Bands', unit: '', step: 1, digits: 0 });

/** One band: the light-end power, or the feed, that its last pass burns at. */
interface StripBand {
  readonly vary: StripOrder['vary'];
  readonly value: number;
}

/**
 * The bands in order, each with more light than the one before: power rises, feed falls. Powers are round to tenths of a per cent,
 * feeds to 10 mm/min. @throws RangeError for too few or too many bands, or two that would be the same.
 */
export function bandsOf({ vary, from, to, bands }: Omit<StripOrder, 'crop'>): StripBand[] {
  if (!(Number.isInteger(bands) && bands >= FEWEST_BANDS && bands <= MOST_BANDS)) {
    throw new RangeError(`a test strip has ${FEWEST_BANDS} to ${MOST_BANDS} bands, got ${bands}`);
  }
  const [weak, strong] =
    vary === 'power' ? [Math.min(from, to), Math.max(from, to)] : [Math.max(from, to), Math.min(from, to)];
  const step = vary === 'power' ? 0.001 : 10 / 60;
  const values = Array.from({ length: bands }, (_, i) => {
    const value = weak + ((strong - weak) * i) / (bands - 1);
    return Math.round(1e6 * step * Math.round(value / step)) / 1e6;
  });
  if (new Set(values).size < bands)
    throw new RangeError('the ends of a test strip are too close together for so many bands');
  return values.map((value) => ({ vary, value }));
}

/** As it is written beside the band: per cent, or mm/min. */
const powerOrFeedText = ({ vary, value }: StripBand): string =>
  vary === 'power' ? String(Math.round(1000 * value) / 10) : String(Math.round(mmPerSToMmPerMin(value)));

/** Between bands and round all of them, mm; whole ones, because passes keep to tiles of a millimetre. */
const GAP_MM = 2;

const MARGIN_MM = 5;

export const LABEL_HEIGHT_MM = 3;

const LABEL_WIDTH_MM = 14;

export interface StripBox {
  readonly xMm: number;
  readonly yMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
}

export interface LaidBand extends StripBand {
  /** Number beside the band, from the top, 1 first. */
  readonly number: number;
  readonly label: string;
  readonly box: StripBox;
  readonly labelBox: StripBox;
}

export interface StripLayout {
  /** Size of the scrap, mm; whole ones. */
  readonly widthMm: number;
  readonly heightMm: number;
  readonly bands: readonly LaidBand[];
}

/** Bands under one another, each with its number and setting to its left. Boxes from the left top corner of the scrap. */
export function layStrip({
  crop,
  bands,
}: Pick<StripOrder, 'crop'> & { readonly bands: readonly StripBand[] }): StripLayout {
  const [width, height] = [
    Math.max(1, Math.round(crop.widthMm)),
    Math.max(LABEL_HEIGHT_MM + 1, Math.round(crop.heightMm)),
  ];
  return {
    widthMm: 2 * MARGIN_MM + LABEL_WIDTH_MM + width,
    heightMm: 2 * MARGIN_MM + bands.length * (height + GAP_MM) - GAP_MM,
    bands: bands.map((band, i) => {
      const yMm = MARGIN_MM + i * (height + GAP_MM);
      return {
        ...band,
        number: i + 1,
        label: powerOrFeedText(band),
        box: { xMm: MARGIN_MM + LABEL_WIDTH_MM, yMm, widthMm: width, heightMm: height },
        labelBox: { xMm: MARGIN_MM, yMm, widthMm: LABEL_WIDTH_MM - 1, heightMm: LABEL_HEIGHT_MM + 1 },
      };
    }),
  };
}
