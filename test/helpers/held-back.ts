import { createGenerator } from '../../src/base/random/generator.ts';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { choose } from '../../src/studies/choose/choose.ts';
import { EVEN_WISHES } from '../../src/studies/choose/odds.ts';
import { type ChooseResult, withSettings } from '../../src/studies/choose/settings.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';
import { pictureOf } from './burn.ts';

/**
 * Seeded pieces that the search was never fitted to: stacks, machines and pictures as different as workshops are, a few of them beyond
 * what can work. Ranges are ours; nothing published.
 */
export function heldBackPiece(seed: number): Piece {
  const random = createGenerator(100_000 + seed);
  const between = (low: number, high: number) => low + (high - low) * random.nextUnit();
  const logBetween = (low: number, high: number) => low * (high / low) ** random.nextUnit();
  const piece = createPiece(`Held back ${seed}`, 'picture.png');
  const [top, under] = piece.stack.coats;
  const spot = between(0.06, 0.13);
  const spread = between(0.3, 1);
  const { threshold, specificEnergy, thickness, power } = piece.certainty;
  return {
    ...piece,
    slab: { ...piece.slab, shape: 'rectangle', widthMm: 100, heightMm: 100, grainSeed: seed },
    stack: {
      ...piece.stack,
      film: { ...piece.stack.film, shown: 'drawn', seed, slowScaleMm: between(6, 28) },
      coats: [
        {
          ...top,
          colorLab: [between(15, 45), between(-10, 20), between(-15, 20)],
          dryThicknessUm: between(12, 40),
          absorptance: between(0.75, 0.95),
          thresholdJPerMm2: top.thresholdJPerMm2 * logBetween(0.6, 1.6),
          specificEnergyJPerMm3: top.specificEnergyJPerMm3 * logBetween(0.6, 1.6),
          slowVariation: between(0.02, 0.09),
          fineVariation: between(0.01, 0.05),
        },
        {
          ...under,
          colorLab: [between(75, 93), between(-3, 5), between(0, 18)],
          dryThicknessUm: between(35, 80),
          absorptance: between(0.06, 0.2),
          scorchOnsetJPerMm2: logBetween(0.03, 0.16),
        },
      ],
    },
    picture: { ...piece.picture, widthMm: 30, crop: 'rectangle' },
    machine: {
      ...piece.machine,
      source: { ...piece.machine.source, fullPowerW: logBetween(2.5, 35), spotAcrossMm: spot, spotAlongMm: spot },
      motion: { ...piece.machine.motion, maxFeedMmPerS: logBetween(60, 500) },
    },
    certainty: {
      ...piece.certainty,
      threshold: spread * threshold,
      specificEnergy: spread * specificEnergy,
      thickness: spread * thickness,
      power: spread * power,
    },
  };
}

/** A sky, a gradient and shapes: a good part of it light. */
export function heldBackPicture(seed: number): Picture {
  const random = createGenerator(200_000 + seed);
  const sky = 0.6 + 0.38 * random.nextUnit();
  const horizon = 60 + 80 * random.nextUnit();
  const shapes = Array.from({ length: 6 }, () => ({
    x: 240 * random.nextUnit(),
    y: 192 * random.nextUnit(),
    radius: 10 + 35 * random.nextUnit(),
    value: random.nextUnit() ** 2,
  }));
  return pictureOf(240, 192, (x, y) => {
    const shape = shapes.find((one) => Math.hypot(x - one.x, y - one.y) < one.radius);
    if (shape) return Math.min(1, shape.value + 0.15);
    return y < horizon ? Math.min(1, sky + 0.3 * (y / horizon)) : 0.05 + (0.5 * (x + y)) / 432;
  });
}

export interface HeldBack {
  readonly result: ChooseResult;
  /** What became of the suggestion that suits best, for pieces drawn apart from those that the search has drawn. */
  readonly draws: readonly { readonly clearedShare: number | null; readonly scorchedShare: number }[];
}

/** Finds settings for a piece and burns the whole picture with them on pieces as they may truly be. */
export async function judgeHeldBack(seed: number, draws: number, runner: SwathRunner): Promise<HeldBack> {
  const piece = heldBackPiece(seed);
  const photo = { key: `held-back-${seed}`, picture: heldBackPicture(seed), castless: null };
  const scene = createCoarsePipeline().scene(piece, photo);
  const appearance = createProofPipeline().appearance(piece);
  const result = await choose({ piece, scene, appearance, wishes: EVEN_WISHES, budget: 90, most: 1 }, runner);
  const [best] = result.suggestions;
  const burned: HeldBack['draws'][number][] = [];
  for (let draw = 0; best && draw < draws; draw++) {
    const drawn = withSettings(drawPiece(piece, 900_000 + 1000 * seed + draw), best.pass, best.curve);
    const collect = { surface: false, fields: false, painted: false };
    const { summary } = await createProofPipeline().proof({ piece: drawn, photo, collect }, runner);
    const clearedShare = summary.lightShare > 0 ? 1 - summary.unclearedShare : null;
    burned.push({ clearedShare, scorchedShare: summary.scorchedShare });
  }
  return { result, draws: burned };
}
