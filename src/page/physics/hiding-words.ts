import {
  contrastRatio,
  HIDING_CONTRAST,
  layersToHide,
  showingInWords,
  showThrough,
} from '../../physics/material/hiding.ts';
import type { Coat, Slab } from '../../piece/schema.ts';
import { speciesOf } from '../../piece/species.ts';

/** Whether a coat hides what is under it, and what of this slab's wood shows through it and the coats under it. Coats topmost first. */
export function hidingWords(coats: readonly Coat[], index: number, slab: Pick<Slab, 'wood' | 'knots'>): string {
  const coat = coats[index];
  const seen = showThrough(coats.slice(index), slab.wood);
  const species = speciesOf(slab.wood) ? `the ${slab.wood.name.toLowerCase()}` : 'this wood';
  const parts = [{ what: `the rings of ${species}`, deltaE: seen.rings }];
  if (slab.knots.length > 0) {
    parts.unshift({ what: slab.knots.length > 1 ? 'the knots' : 'the knot', deltaE: seen.knot });
  }
  const together = index < coats.length - 1 ? `with what is under it, ${showing(parts)}` : showing(parts);
  return `${byTheStandard(coat)} ${capital(together)}.`;
}

/** What shows and what does not; two that show alike in one clause. */
function showing(parts: readonly { what: string; deltaE: number }[]): string {
  const said = parts.map(({ what, deltaE }) => ({
    what,
    number: `(ΔE ${deltaE.toFixed(1)})`,
    how: showingInWords(deltaE),
  }));
  const alike = said.every(({ how }) => how === said[0].how);
  return alike
    ? `${said.map(({ what, number }) => `${what} ${number}`).join(' and ')} ${said[0].how}`
    : said.map(({ what, number, how }) => `${what} ${how} ${number}`).join(', ');
}

function byTheStandard(coat: Coat): string {
  const ratio = contrastRatio(coat, coat.dryThicknessUm);
  if (ratio >= HIDING_CONTRAST) return `It hides what is under it (contrast ratio ${ratio.toFixed(2)}).`;
  const needed = layersToHide(coat);
  const rest =
    needed === null ? 'and more layers of it will not change that' : `it would take ${needed} layers like these`;
  return `It does not hide black from white (contrast ratio ${ratio.toFixed(2)}, ${HIDING_CONTRAST} hides); ${rest}.`;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
