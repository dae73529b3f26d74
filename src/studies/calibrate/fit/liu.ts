/**
 * Spot radius and threshold from the widths of lone lines at rising power: W² grows with ln P by 2w², and where it would be nothing lies the
 * threshold. The same holds for the diameters of pulse marks over ln E.
 *
 * Source: J. M. Liu, Opt. Lett. 7, 196 (1982) (value from memory); the line form is derived from the line dose the same way. It takes the edge of
 * the mark for the place where removal begins; under a dark film that shows later, which the whole fit allows for and this does not.
 * Test: test/reference/calibrate-fit.test.ts.
 * @param widthsMm 0 for a line that does not show; such are left out.
 * @throws RangeError for fewer than two lines that show, or widths that do not grow.
 */
export function liuFit(
  powers: readonly number[],
  widthsMm: readonly number[],
): { readonly radiusMm: number; readonly thresholdPower: number } {
  const points = powers
    .map((power, i) => [Math.log(power), widthsMm[i] ** 2] as const)
    .filter(([, squared]) => squared > 0);
  if (points.length < 2) throw new RangeError('at least two lines must show');
  const n = points.length;
  const meanX = points.reduce((sum, [x]) => sum + x, 0) / n;
  const meanY = points.reduce((sum, [, y]) => sum + y, 0) / n;
  const slope =
    points.reduce((sum, [x, y]) => sum + (x - meanX) * (y - meanY), 0) /
    points.reduce((sum, [x]) => sum + (x - meanX) ** 2, 0);
  if (!(slope > 0)) throw new RangeError('widths must grow with power');
  return { radiusMm: Math.sqrt(slope / 2), thresholdPower: Math.exp(meanX - meanY / slope) };
}
