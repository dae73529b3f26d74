import type { SlabZones } from './zones.ts';

/** How wide a rim to tape off, to half a millimetre; null where none was seen. */
export function maskedRimOf({ maskInsetMm, seen }: Pick<SlabZones, 'maskInsetMm' | 'seen'>): number | null {
  const mean = maskInsetMm.reduce((sum, value) => sum + value, 0) / maskInsetMm.length;
  return seen > 0 ? Math.round(2 * mean) / 2 : null;
}
