import { burnCell } from '../../burn/kernel/burn.kernel.ts';
import { spotRadii } from '../../physics/beam/source.ts';
import type { Piece } from '../../piece/schema.ts';
import type { CardBurn } from '../../vision/card/card.ts';
import { jobOf, passOf, wattsOf } from './patch-job.ts';
import { lightnessOf } from './predict-patch.ts';
import type { ToneColors } from './tone-colors.ts';

/** What a lone line looks like. Widths in mm. */
export interface LineState {
  /** Between the places where its lightness is half way from the paint to its middle; 0 for a line that does not show. */
  readonly edgeMm: number;
  /** Of a wholly cleared line that is as much lighter than the paint: a blurred picture does not change it. */
  readonly equivalentMm: number;
}

const PLACES = 50;
/** Half of the profile that is looked at, in radii. */
const REACH = 2;
/** A middle that is lighter than the paint by less, L*, cannot be seen. */
const LEAST_SEEN = 1;

/** One crossing over an intact film; `filmFactor` is the film's thickness over the piece's. */
export function predictLine(piece: Piece, burn: CardBurn, colors: ToneColors, filmFactor = 1): LineState {
  const { acrossMm } = spotRadii(piece.machine.source, passOf(piece, burn, burn.headingRad));
  const grid = { width: 1, height: 1, pitchMm: burn.rowPitchMm, subX: 1, subY: 1 };
  const job = jobOf(piece, burn, grid, burn.headingRad);
  const stepMm = (REACH * acrossMm) / PLACES;
  const weights = Array.from({ length: PLACES }, (_, i) => {
    const ratio = ((i + 0.5) * stepMm) / acrossMm;
    return [(Math.sqrt(2 / Math.PI) / acrossMm) * Math.exp(-2 * ratio * ratio)];
  });
  const { coats } = piece.stack;
  const topUm = coats[0].dryThicknessUm * filmFactor;
  const thickness = coats.map((coat, i) => [i === 0 ? topUm : coat.dryThicknessUm]);
  const cold = job.coldFactors.length === 1 ? job.coldFactors[0] : 1;
  const ground = [[cold], [piece.slab.wood.absorptance], [1], [0]];
  const exposure = [[wattsOf(job, burn) / job.optics.feedMmPerS, 0]];
  const zeros = Array.from({ length: PLACES }, () => [0]);
  const run = (wanted: number, after: number[][]): number[][] =>
    zeros.map((_, y) => [
      burnCell.call(
        { thread: { x: 0, y, z: 0 } },
        zeros,
        zeros,
        after,
        exposure,
        weights,
        thickness,
        ground,
        job.layerRows,
        wanted,
        coats.length,
        1,
        1,
        PLACES,
        PLACES,
        1,
        (y + 0.5) / PLACES,
        0,
        0,
        0,
        0,
        0,
        0,
      ),
    ]);
  const depth = run(0, zeros);
  const excess = run(1, depth);
  const stateAt = (leftUm: number, dose: number) => {
    const xyz = new Float64Array(3);
    colors.add(Math.max(0, leftUm), dose, 1, xyz);
    return xyz;
  };
  const paint = stateAt(topUm, 0);
  const bare = stateAt(0, 0);
  const across = depth.map(([gone], i) => stateAt(topUm - gone, excess[i][0]));
  const lightness = across.map((xyz) => lightnessOf(xyz[1]));
  const from = lightnessOf(paint[1]);
  const sum = across.reduce((total, xyz) => total + (xyz[1] - paint[1]) * stepMm, 0);
  const equivalentMm = (2 * sum) / Math.max(1e-6, bare[1] - paint[1]);
  if (Math.abs(lightness[0] - from) < LEAST_SEEN) return { edgeMm: 0, equivalentMm };
  const half = (lightness[0] + from) / 2;
  const above = lightness[0] > from ? 1 : -1;
  const end = lightness.findIndex((value) => above * (value - half) < 0);
  if (end <= 0) return { edgeMm: 2 * REACH * acrossMm, equivalentMm };
  const share = (lightness[end - 1] - half) / (lightness[end - 1] - lightness[end]);
  return { edgeMm: 2 * (end - 0.5 + share) * stepMm, equivalentMm };
}
