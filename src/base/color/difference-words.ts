/**
 * What a colour difference means side by side, in words.
 *
 * Classes up to 5: W. Mokrzycki & M. Tatol, "Colour difference ∆E – a survey", Machine Graphics & Vision 20(4) 383–411 (2011), as quoted
 * in the reference of the open library colour (colour.difference.JND_CIE1976). From 12: "different color" in the classification of
 * J. Korean Wood Sci. Technol. 48(1) (2020), table 1. Both were made for ΔE*ab; ΔE00 is read by them here, which is common practice.
 */
export function differenceWords(deltaE: number): string {
  if (deltaE < 1) return 'nobody sees a difference';
  if (deltaE < 2) return 'seen only side by side, by a trained eye';
  if (deltaE < 3.5) return 'seen side by side';
  if (deltaE < 5) return 'plainly seen';
  return deltaE < 12 ? 'another tint' : 'another colour';
}
