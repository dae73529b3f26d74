import { type Finding, towards } from './finding.ts';
import { mm } from './words.ts';

/** Size of a pixel on the slab from which one sees at arm's length that detail is missing, mm: 150 pixels an inch; common practice, no published source. */
const LARGEST_PIXEL_MM = 25.4 / 150;

/** A photograph with too few pixels for the size it is burned at. `pixels`: across what lies on the slab, before it is turned. */
export function findLowResolution(widthMm: number, pixels: number | undefined): Finding | null {
  if (!pixels) return null;
  const pixelMm = widthMm / pixels;
  if (pixelMm <= LARGEST_PIXEL_MM) return null;
  const largest = Math.max(1, Math.floor(pixels * LARGEST_PIXEL_MM));
  return {
    kind: 'low-resolution',
    severity: 100 * towards(pixelMm / LARGEST_PIXEL_MM - 1, 0.8),
    sentence: `The photograph has ${pixels} pixels across ${mm(widthMm)}: detail will look soft. Up to ${largest} mm wide it looks right.`,
    value: pixelMm,
    unit: 'mm',
    place: null,
    causes: ['resolution'],
    change: null,
  };
}
