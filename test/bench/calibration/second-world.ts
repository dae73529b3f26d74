import type { Card, CardBurn } from '../../../src/core/calibrate/cards/card.ts';
import { powerOf } from '../../../src/core/calibrate/cards/card.ts';
import { CARD_WISH, evenBurn, makeCard } from '../../../src/core/calibrate/cards/make-card.ts';
import type { CardReading } from '../../../src/core/calibrate/read/reading.ts';
import { linearRgbToLab } from '../../../src/core/color/lab.ts';
import { lightnessToLuminance } from '../../../src/core/image/lightness.ts';
import type { Picture } from '../../../src/core/image/picture.ts';
import { srgbDecodingTable } from '../../../src/core/image/srgb-decoding.ts';
import { createPiece } from '../../../src/core/piece/defaults.ts';
import type { Lab, Piece } from '../../../src/core/piece/schema.ts';
import { createGenerator } from '../../../src/core/random/generator.ts';
import { createGpuJsBackend } from '../../../src/kernels/gpu-js.ts';
import { type CardFit, fitCards } from '../../../src/sim/calibrate/fit-card.ts';
import { labOf } from '../../../src/sim/calibrate/predict-patch.ts';
import { type ToneColors, toneColors } from '../../../src/sim/calibrate/tone-colors.ts';
import { createInlineRunner } from '../../../src/sim/runner.ts';
import { burn, flatFilm, plainPiece } from '../../helpers/burn.ts';
import { cross } from '../../reference/finer-model/crossing.ts';
import { goneUm, untouched } from '../../reference/finer-model/mesh.ts';
import type { World } from '../../reference/finer-model/world.ts';

/**
 * A second world plays the real machine: heat conduction with decomposition, which shares no code with the law. It burns the cards, they are read
 * with noise, the tool fits them, and then both burn the same crop of a picture. The film is even and 25 µm in both. The world's watts are scaled so
 * that it clears at four fifths of the power that the preset says.
 */
export interface WorldResult {
  /** Root mean square of the difference in L* over the crop, and over its lighter half (by what the world makes of it). */
  readonly before: number;
  readonly after: number;
  readonly beforeLight: number;
  readonly afterLight: number;
  readonly fit: CardFit;
}

const RADIUS_MM = 0.1;
const TOP_UM = 25;
/** Places across a row, rows that reach a place, steps of the finer model per dwell. */
const ACROSS = 5;
const REACH = 2;
const STEPS = 250;
const LIGHT_END = 0.72;
const DARK_END = 0.2;

/** Residues at places across a row after passes of rows of given watts; `watts[pass](row)` from −REACH to REACH. */
function residues(
  world: World,
  passes: readonly ((row: number) => number)[],
  feedMmPerS: number,
  pitchMm: number,
  across: number,
): number[] {
  return Array.from({ length: across }, (_, i) => {
    const place = (i + 0.5) / across - 0.5;
    const mesh = untouched(world);
    for (const watts of passes) {
      for (let row = -REACH; row <= REACH; row++) {
        const powerW = watts(row);
        const asideMm = Math.abs(row - place) * pitchMm;
        if (powerW > 0 && asideMm < 1.75 * RADIUS_MM)
          cross(world, mesh, { powerW, radiusMm: RADIUS_MM, feedMmPerS, asideMm }, STEPS);
      }
    }
    return Math.max(0, TOP_UM - goneUm(mesh, 0));
  });
}

function labOfResidues(values: readonly number[], colors: ToneColors): Lab {
  const xyz = new Float64Array(3);
  for (const value of values) colors.add(value, 0, 1 / values.length, xyz);
  return labOf(xyz);
}

export async function secondWorld(world: World, crop: Picture): Promise<WorldResult> {
  const base = flatFilm(
    plainPiece(crop.width, { lightEndPower: LIGHT_END, darkEndPower: DARK_END, screen: 'continuous' }),
  );
  const piece: Piece = { ...base, certainty: createPiece('', '').certainty };
  const [pass] = piece.passes;
  const colors = toneColors(piece);
  const { fullPowerW } = piece.machine.source;
  const evenAt = (watts: number) => residues(world, [() => watts], pass.feedMmPerS, pass.rowPitchMm, ACROSS);
  let [low, high] = [0.1, 20];
  for (let i = 0; i < 12; i++) {
    const middle = Math.sqrt(low * high);
    if (evenAt(middle).reduce((sum, value) => sum + value / ACROSS, 0) < 0.5) high = middle;
    else low = middle;
  }
  // The preset clears at 53 % (see test/unit/calibrate-card.test.ts for how patches come out).
  const perWatt = high / (0.8 * 0.53 * fullPowerW);
  const watts = (burnOf: CardBurn) => perWatt * fullPowerW * powerOf(burnOf);

  const random = createGenerator(11);
  const seen = new Map<string, Lab>();
  const read = (card: Card): CardReading => ({
    format: 'foreburn-reading',
    version: 1,
    kind: card.kind,
    cardId: card.id,
    how: 'photo',
    patches: card.patches.map(({ id, burns }) => {
      const key = JSON.stringify(burns);
      const passes = burns.map((one) => () => watts(one));
      const lab =
        seen.get(key) ??
        labOfResidues(residues(world, passes, burns[0].feedMmPerS, burns[0].rowPitchMm, ACROSS), colors);
      seen.set(key, lab);
      const noisy: Lab = [lab[0] + 1.5 * random.nextNormal(), lab[1], lab[2] + 1.5 * random.nextNormal()];
      return { id, lab: noisy, deviation: 1.5, mottle: 0 };
    }),
    firsts: [],
    lines: [],
    rowOffset: null,
  });
  const cards = [
    makeCard('step-wedge', piece),
    makeCard('second-pass', piece, { ...CARD_WISH, steps: 10, heightMm: 45 }),
  ];
  const fit = fitCards(
    piece,
    cards.map((card) => ({ card, reading: read(card) })),
  );

  const truth = new Float64Array(crop.width * crop.height);
  const wattsOf = (x: number, y: number) => {
    if (y < 0 || y >= crop.height) return 0;
    // Continuous tone grades power by lightness in steps of a 255th, like the job.
    const level = Math.round(255 * lightness(crop.luminance[y * crop.width + x])) / 255;
    return perWatt * fullPowerW * powerOf(evenBurn(piece, LIGHT_END, { darkEndPower: DARK_END, lightness: level }));
  };
  for (let y = 0; y < crop.height; y++) {
    for (let x = 0; x < crop.width; x++) {
      const left = residues(world, [(row) => wattsOf(x, y + row)], pass.feedMmPerS, pass.rowPitchMm, 3);
      truth[y * crop.width + x] = labOfResidues(left, colors)[0];
    }
  }
  const runner = createInlineRunner(await createGpuJsBackend('cpu', 'second world'));
  const errors = async (of: Piece) => {
    const { color } = await burn(of, crop, runner);
    const table = srgbDecodingTable(8);
    return truth.map(
      (value, i) => linearRgbToLab([table[color[4 * i]], table[color[4 * i + 1]], table[color[4 * i + 2]]])[0] - value,
    );
  };
  const [off, now] = [await errors(piece), await errors(fit.piece)];
  const middle = [...truth].sort((a, b) => a - b)[truth.length >> 1];
  const rms = (values: Float64Array, from = 0) => {
    const kept = [...values].filter((_, i) => truth[i] >= from);
    return Math.sqrt(kept.reduce((sum, value) => sum + value * value, 0) / kept.length);
  };
  return { before: rms(off), after: rms(now), beforeLight: rms(off, middle), afterLight: rms(now, middle), fit };
}

/** CIE lightness, 0–1, the inverse of what the crop is given by. */
function lightness(luminance: number): number {
  let [low, high] = [0, 1];
  for (let i = 0; i < 24; i++) {
    const middle = (low + high) / 2;
    if (lightnessToLuminance(middle) < luminance) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
