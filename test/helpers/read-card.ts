import type { Lab } from '../../src/base/color/lab.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { createCardOracle, type FilmTilt, filmAt } from '../../src/studies/calibrate/predict-card.ts';
import type { Card } from '../../src/vision/card/card.ts';
import type { CardReading } from '../../src/vision/card/reading.ts';

export interface ReadingNoise {
  readonly lightness: number;
  readonly widthMm: number;
  /** Patches that are read as some other patch. */
  readonly misread: number;
  /** What the reading says its own deviations are. */
  readonly told: { readonly lightness: number; readonly widthMm: number };
}
export const CLEAN: ReadingNoise = { lightness: 0, widthMm: 0, misread: 0, told: { lightness: 0.02, widthMm: 0.0002 } };
export const REALISTIC: ReadingNoise = {
  lightness: 1.5,
  widthMm: 0.01,
  misread: 1,
  told: { lightness: 1.5, widthMm: 0.01 },
};

/** What would be read off a card burned by a piece that is known in truth. */
export function readTrueCard(
  truth: Piece,
  card: Card,
  noise: ReadingNoise,
  seed: number,
  tilt: FilmTilt = { x: 0, y: 0 },
): CardReading {
  const oracle = createCardOracle(truth);
  const random = createGenerator(seed);
  const labs = card.patches.map((patch) => oracle.patch(truth, patch, filmAt(card, patch.box, tilt)).lab);
  const patches = card.patches.map(({ id }, i) => {
    const lab: Lab = [
      labs[i][0] + noise.lightness * random.nextNormal(),
      labs[i][1],
      labs[i][2] + noise.lightness * random.nextNormal(),
    ];
    return { id, lab, deviation: noise.told.lightness, mottle: 0 };
  });
  for (let k = 0; k < noise.misread; k++) {
    const at = Math.floor(random.nextUnit() * patches.length);
    const other = Math.floor(random.nextUnit() * patches.length);
    if (patches.length > 0) patches[at] = { ...patches[at], lab: labs[other] };
  }
  return {
    format: 'foreburn-reading',
    version: 1,
    kind: card.kind,
    cardId: card.id,
    how: 'photo',
    patches,
    firsts: [],
    lines: card.lines.map(({ id, burn, box }) => ({
      id,
      measure: 'equivalent' as const,
      widthMm: Math.max(
        0,
        oracle.line(truth, burn, filmAt(card, box, tilt)).equivalentMm + noise.widthMm * random.nextNormal(),
      ),
      deviation: noise.told.widthMm,
    })),
    rowOffset: null,
  };
}
