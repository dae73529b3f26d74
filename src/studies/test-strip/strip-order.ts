import { mmPerSToMmPerMin } from '../../base/units.ts';
import type { CropBox } from '../../piece/frame.ts';

/** What a test strip is to try: the same part of the picture in bands, the light-end power or the feed changing from the first to the last. */
export interface StripOrder {
  readonly crop: CropBox;
  readonly vary: 'power' | 'feed';
  /** Shares of full power, or mm/s. */
  readonly from: number;
  readonly to: number;
  readonly bands: number;
}

export const FEWEST_BANDS = 3;
export const MOST_BANDS = 9;

/** One band: the light-end power, or the feed, that its last pass burns at. */
export interface StripBand {
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
export const powerOrFeedText = ({ vary, value }: StripBand): string =>
  vary === 'power' ? String(Math.round(1000 * value) / 10) : String(Math.round(mmPerSToMmPerMin(value)));
