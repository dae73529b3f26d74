import { SCORCHED_SHARE } from '../../burn/clearing.ts';
import { inLikelyCases, likelyWords } from '../diagnose/finding.ts';
import type { Band } from '../sure/how-sure.ts';
import { type RescuePlan, type RescueProposal, type RescueWishes, WORDS_TEXT } from './propose.ts';

const percent = (share: number, digits = 0): string => `${(100 * share).toFixed(digits)} %`;
const power = (share: number): string => `${Number((100 * share).toFixed(2))} %`;
/** Rises of the middle tones that are worth a word, L*. */
const RISE_TOLD_L = 2;
const minutes = (seconds: number): string => `${Math.max(1, Math.round(seconds / 60))} min`;
const inTen = (share: number): string => `${Math.round(10 * share)} of 10 cases`;

/** A share with its band. */
export function shareIn({ low, middle, high }: Band): string {
  const likely = likelyWords(percent(low), percent(high));
  return percent(middle) + (likely && ` (${likely})`);
}

/** The proposal in sentences: first what it comes to, then what follows from it. */
export function tellRescue(proposal: RescueProposal, wishes: RescueWishes): string[] {
  const { verdict, before, plan } = proposal;
  const lines: string[] = [];
  if (verdict === 'disagrees') {
    return [
      `Nothing that these coats, this machine and these passes are likely to give looks like that (“${wishes.words ? WORDS_TEXT[wishes.words] : ''}”). Check watts, feed, focus and the coats’ thickness first; no pass is proposed.`,
    ];
  }
  if (proposal.scorchedAlready) {
    lines.push(
      `${percent(before.scorched.middle, 1)} of the picture is likely scorched already. No further pass mends that: stop here, or accept it.`,
    );
  }
  if (verdict === 'no-help') {
    lines.push(
      before.clears > 0.5
        ? 'No further pass would change it for the better: the light areas are about as clear as these coats get. If they still look dull, the undercoat is what you see.'
        : 'No further pass helps: whatever power the machine has, none clears these light areas without scorching, or none changes them so that one sees it. Make the next piece with a thinner top coat, or burn a card to learn what this paint takes.',
    );
    return lines;
  }
  if (verdict === 'cleared' || !plan) {
    lines.push(
      wishes.words
        ? `Pieces that look like that are clear in their light areas in ${inTen(before.clears)} already. Leave it as it is.`
        : 'A slab that came out as its proof shows is clear in its light areas: there is nothing to rescue. If yours came out darker, say how it looks, or show a photograph of it.',
    );
    return lines;
  }
  const { pass, after, saves } = plan;
  if (verdict === 'out-of-reach') {
    lines.push(
      `No power of one pass clears the light areas and spares the undercoat as surely as you asked for. The best is ${power(pass.lightEndPower)} at the light end and ${power(pass.darkEndPower)} at the dark end: it comes out well ${inLikelyCases(saves)}.`,
    );
  } else {
    // The search goes by fewer cases than the last word.
    const short = saves < wishes.odds - 1e-9 ? ` You asked for ${percent(wishes.odds)}.` : '';
    lines.push(
      `Burn one more pass with ${power(pass.lightEndPower)} at the light end and ${power(pass.darkEndPower)} at the dark end: it clears the light areas without scorching them ${inLikelyCases(saves)}.${short}`,
    );
  }
  lines.push(`Light areas left dark: ${shareIn(before.uncleared)} before, ${shareIn(after.uncleared)} after.`);
  if (plan.middleRiseL !== null && plan.middleRiseL >= RISE_TOLD_L) {
    lines.push(
      `The middle tones get lighter too, by about ${plan.middleRiseL.toFixed(0)} L*: the picture loses some depth.`,
    );
  }
  lines.push(tellDarks(plan, wishes));
  if (after.scorches >= 0.1) {
    lines.push(
      `It scorches more than ${percent(SCORCHED_SHARE, 1)} of the picture in ${inTen(after.scorches)}. Climb the ladder instead of starting at this power.`,
    );
  }
  lines.push(tellTime(plan, wishes));
  return lines;
}

function tellDarks({ pass, darkEnd, sparesDarks, bitesFrom }: RescuePlan, { darks }: RescueWishes): string {
  const from = bitesFrom < 1 ? ` Only tones lighter than ${percent(bitesFrom)} in the photograph change visibly.` : '';
  const difference = `ΔE00 ${darkEnd.change.toFixed(1)}`;
  if (darks === 'open') {
    return darkEnd.power >= pass.lightEndPower
      ? `No dark-end power up to that of the light end opens the dark areas visibly (${difference}).${from}`
      : `The dark areas open visibly (up to ${difference}).${from}`;
  }
  if (sparesDarks) {
    return `The few light dots in the dark areas would change those (${difference}), so the pass leaves the dark areas out.${from}`;
  }
  return `The dark areas stay as they are (${difference}); the dark end could rise to ${power(darkEnd.harmless)} before they change.${from}`;
}

function tellTime({ seconds, savedSeconds, neededShare }: RescuePlan, { onlyWhere, growMm }: RescueWishes): string {
  if (onlyWhere) {
    return `It burns ${percent(neededShare)} of the picture, where residue is to be expected and ${growMm} mm around: ${minutes(seconds)}, ${minutes(savedSeconds)} less than all of it.`;
  }
  return savedSeconds > 30
    ? `It takes ${minutes(seconds)}. Only ${percent(neededShare)} of the picture needs it: burning just there would save ${minutes(savedSeconds)}.`
    : `It takes ${minutes(seconds)}.`;
}
