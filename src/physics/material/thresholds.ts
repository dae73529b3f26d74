/**
 * Relations that turn marks into thresholds. Sources: J. M. Liu, Opt. Lett. 7, 196 (1982) (value from memory); method as in
 * Garcia-Lechuga & Grojo, Open Research Europe 1:7 (2021); the line form is derived the same way from the line dose.
 */

/** Diameter of the mark of one pulse, `D² = 2 w0² ln(F0 / Fth)`; mm, 0 below the threshold. */
export function pulseMarkDiameterMm(waistMm: number, peak: number, threshold: number): number {
  return peak <= threshold ? 0 : waistMm * Math.sqrt(2 * Math.log(peak / threshold));
}

/** Width of a burned line, `W² = 2 w² ln(Dpeak / Dth)`; mm, 0 below the threshold. */
export function lineMarkWidthMm(acrossRadiusMm: number, peakDose: number, thresholdDose: number): number {
  return pulseMarkDiameterMm(acrossRadiusMm, peakDose, thresholdDose);
}

/** Mean dose on a band burned by a beam of a given width, `H = P / (d v)`, J/mm² (Acta Fac. Xylologiae Zvolen 61(1), 2019, eq. 1). */
export function bandDose(powerW: number, bandWidthMm: number, feedMmPerS: number): number {
  return powerW / (bandWidthMm * feedMmPerS);
}
