import type { Lab } from '../../../src/base/color/lab.ts';
import type { Piece } from '../../../src/piece/schema.ts';
import type { Card, CardBurn, CardPatch } from '../../../src/vision/card/card.ts';
import { powerOf } from '../../../src/vision/card/card.ts';
import { cardColors, readCardPhoto } from '../../../src/vision/card/read-photo.ts';
import type { CardReading } from '../../../src/vision/card/reading.ts';
import { type CardLooks, renderCardPhoto, SHOT } from '../../helpers/render-card-photo.ts';
import { labOfSum } from '../../reference/finer-model/optics.ts';
import type { Workshop } from '../../reference/finer-model/workshop.ts';

/** Where a card lies in the world's film, far from the picture, mm. */
export type OnFilm = readonly [xMm: number, yMm: number];

/** Films for which a patch is burned; what lies between is read off between them. */
const FILMS = [0.7, 0.8, 0.88, 0.94, 1, 1.06, 1.12, 1.2, 1.3];
/** Places across a patch at which its film is looked at. */
const PLACES = 5;

/** What a card looks like once a workshop has burned it. */
export function burnedLooks(workshop: Workshop, card: Card, reference: Lab, at: OnFilm): CardLooks {
  const { filmUm } = workshop.world;
  const usualMm = Math.min(...card.patches.map(({ box }) => box.widthMm));
  const burnOf = (burn: CardBurn, sideMm: number) => {
    const plain = { power: powerOf(burn), feedMmPerS: burn.feedMmPerS, pitchMm: burn.rowPitchMm };
    // A larger patch has a pass to itself, with rows as short as it is.
    return { ...plain, warmK: workshop.patchWarmK(sideMm, plain, sideMm > usualMm ? sideMm : card.widthMm) };
  };
  const lookOf = (burns: readonly CardBurn[], box: CardPatch['box']): Lab => {
    const even = burns.map((burn) => burnOf(burn, box.widthMm));
    const sums = FILMS.map((factor) => {
      const { leftUm, excess } = workshop.even(filmUm * factor, even);
      const sum = new Float64Array(3);
      leftUm.forEach((left, i) => {
        workshop.optics.add(left, excess[i], 1 / leftUm.length, sum);
      });
      return sum;
    });
    const total = new Float64Array(3);
    for (let i = 0; i < PLACES * PLACES; i++) {
      const xMm = at[0] + box.xMm + (box.widthMm * ((i % PLACES) + 0.5)) / PLACES;
      const yMm = at[1] + box.yMm + (box.heightMm * (Math.floor(i / PLACES) + 0.5)) / PLACES;
      const factor = Math.min(FILMS[FILMS.length - 1], Math.max(FILMS[0], workshop.film(xMm, yMm)));
      let k = 0;
      while (k < FILMS.length - 2 && FILMS[k + 1] < factor) k++;
      const share = (factor - FILMS[k]) / (FILMS[k + 1] - FILMS[k]);
      for (let c = 0; c < 3; c++) total[c] += (sums[k][c] + share * (sums[k + 1][c] - sums[k][c])) / PLACES ** 2;
    }
    return labOfSum(total);
  };
  const patches = new Map(card.patches.map(({ id, burns, box }) => [id, lookOf(burns, box)]));
  const paint = lookAt(workshop, filmUm);
  const bareY = sumAt(workshop, 0)[1];
  const paintY = sumAt(workshop, filmUm)[1];
  const lines = new Map(
    card.lines.map(({ id, burn, box }) => {
      const step = 0.004;
      const aside = Array.from({ length: 60 }, (_, i) => (i + 0.5) * step);
      const film = filmUm * workshop.film(at[0] + box.xMm + box.widthMm / 2, at[1] + box.yMm + box.heightMm / 2);
      const { leftUm, excess } = workshop.line(film, { ...burnOf(burn, 1), warmK: 0 }, aside);
      let light = 0;
      leftUm.forEach((left, i) => {
        const sum = new Float64Array(3);
        workshop.optics.add(left, excess[i], 1, sum);
        light += 2 * step * (sum[1] - paintY);
      });
      return [id, light / (bareY - paintY)];
    }),
  );
  return {
    paint,
    reference,
    marks: lookOf([card.marking], { xMm: 2, yMm: 2, widthMm: 2, heightMm: 2 }),
    patches,
    lines,
  };
}

export const sumAt = (workshop: Workshop, leftUm: number): Float64Array => {
  const sum = new Float64Array(3);
  workshop.optics.add(leftUm, 0, 1, sum);
  return sum;
};
export const lookAt = (workshop: Workshop, leftUm: number): Lab => labOfSum(sumAt(workshop, leftUm));

/** A grey chip on the reference place. */
const CHIP: Lab = [72, 0, 1];

/** Burns a card in a workshop, photographs it and reads the photograph. @throws ReadingError as the reading does. */
export async function readBurned(
  workshop: Workshop,
  piece: Piece,
  card: Card,
  at: OnFilm,
  seed: number,
): Promise<CardReading> {
  const photo = await renderCardPhoto(card, burnedLooks(workshop, card, CHIP, at), { ...SHOT, seed, jpegQuality: 85 });
  return readCardPhoto(photo, card, cardColors(piece, CHIP)).reading;
}
