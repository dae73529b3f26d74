import { createGenerator } from '../../../src/base/random/generator.ts';
import { createPiece } from '../../../src/piece/defaults.ts';
import { FIT_WISH, fitCards } from '../../../src/studies/calibrate/fit-card.ts';
import { parametersOf, shiftPiece } from '../../../src/studies/sure/spread.ts';
import { makeCard } from '../../../src/vision/card/make-card.ts';
import { flatFilm } from '../../helpers/burn.ts';
import { REALISTIC, readTrueCard } from '../../helpers/read-card.ts';

/** Numbers that are drawn and asked for. */
const DRAWN = [
  'spotAcross',
  'coat0.threshold',
  'coat0.specificEnergy',
  'coat0.thickness',
  'coat0.scattering',
  'coat0.opticalDepth',
  'coat1.scorchOnset',
];

export interface Coverage {
  readonly asked: number;
  readonly inside: number;
  readonly perNumber: Readonly<Record<string, number>>;
}

/**
 * How often the truth lies inside the stated nine tenths: each case draws a paint and a beam from the preset's own spread, burns a step
 * wedge and the line card with them, reads with L* ±1.5, widths ±10 µm and one patch misread, and fits.
 */
export function coverage(cases: number, seed: number): Coverage {
  // As a photographed card is fitted: light goes by a thin film, and the threshold is lower for it.
  const open = ['coat0.opticalDepth', 'coat0.threshold'];
  const piece = shiftPiece(flatFilm(createPiece('test', 'test.png')), open, [0, Math.log(0.27)]);
  const spread = parametersOf(piece).filter(({ name }) => DRAWN.includes(name));
  const cards = [makeCard('step-wedge', piece), makeCard('lines', piece)];
  const inside: Record<string, number> = Object.fromEntries(DRAWN.map((name) => [name, 0]));
  for (let i = 0; i < cases; i++) {
    const random = createGenerator(seed + i);
    const names = spread.map(({ name }) => name);
    const truth = shiftPiece(
      piece,
      names,
      spread.map((parameter) => parameter.deviation(piece) * random.nextNormal()),
    );
    const tilts = cards.map(() => ({
      x: FIT_WISH.tiltDeviation * random.nextNormal(),
      y: FIT_WISH.tiltDeviation * random.nextNormal(),
    }));
    const fit = fitCards(
      piece,
      cards.map((card, k) => ({
        card,
        reading: readTrueCard(truth, card, REALISTIC, 7919 * (seed + i) + k, tilts[k]),
      })),
      {
        ...FIT_WISH,
        known: [
          'retainedHeat',
          'beamQuality',
          'spotAlong',
          'coat1.thickness',
          'coat1.scattering',
          'coat1.threshold',
          'coat1.specificEnergy',
        ],
      },
    );
    for (const parameter of spread) {
      const number = fit.numbers.find(({ name }) => name === parameter.name)!;
      const value = parameter.get(truth);
      if (value >= number.low && value <= number.high) inside[parameter.name]++;
    }
  }
  const total = Object.values(inside).reduce((sum, count) => sum + count, 0);
  return {
    asked: cases * DRAWN.length,
    inside: total,
    perNumber: Object.fromEntries(Object.entries(inside).map(([name, count]) => [name, count / cases])),
  };
}
