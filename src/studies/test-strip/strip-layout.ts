import { powerOrFeedText, type StripBand, type StripOrder } from './strip-order.ts';

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
