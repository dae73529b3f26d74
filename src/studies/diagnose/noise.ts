import { type Case, type Finding, mm, towards, worstPlace } from './finding.ts';
import {
  type Blocks,
  EVEN_TILE,
  type NoiseBand,
  noiseBands,
  noiseOfTiles,
  type PrintNoise,
  type ProofSums,
  seenNoise,
  type TileSums,
  TONE_BINS,
  type ToneSums,
} from './tally.ts';

/** Noise of the light areas. */
interface LightNoise {
  /** In density, after ISO 13660, read at the proof's own cells; what the picture itself varies is taken off. */
  readonly print: PrintNoise;
  /** Variance of L* by octave, finest first. */
  readonly bands: readonly NoiseBand[];
}

/** Share of a tile that must be light. */
const NEARLY_ALL = 0.95;

export function lightNoise({ blocks, tones, tiles, fineBands }: ProofSums): LightNoise {
  const densityAt = byTone(tones, tones.density);
  const even: TileSums[] = [];
  for (let i = 0; i < tiles.count.length; i++) {
    const count = tiles.count[i];
    if (count < NEARLY_ALL * tiles.full || tiles.highTone[i] - tiles.lowTone[i] > EVEN_TILE) continue;
    const expected = densityAt(tiles.tone[i] / count);
    // Less what an even film would give: Σ(D − e) and Σ(D − e)².
    even.push({
      count,
      sum: tiles.density[i] - count * expected,
      squares: tiles.squares[i] - 2 * expected * tiles.density[i] + count * expected * expected,
    });
  }
  const lightnessAt = byTone(tones, tones.lightness);
  const values = Float32Array.from(blocks.lightness, (sum, block) =>
    blocks.even[block]
      ? (sum - blocks.picture[block] * lightnessAt(blocks.tone[block] / blocks.picture[block])) / blocks.picture[block]
      : 0,
  );
  const { width, height, pitchMm, even: counts } = blocks;
  const coarse = noiseBands({ width, height, pitchMm, values, counts });
  return { print: noiseOfTiles(even), bands: [...fineBands, ...coarse] };
}

/** Mean of a sum by prepared lightness, straight between the middles of the bins that have places. */
function byTone(tones: ToneSums, sums: Float64Array): (prepared: number) => number {
  const means: [number, number][] = [];
  for (let bin = 0; bin < TONE_BINS; bin++) {
    if (tones.count[bin] > 0) means.push([(bin + 0.5) / TONE_BINS, sums[bin] / tones.count[bin]]);
  }
  return (prepared) => {
    const after = means.findIndex(([tone]) => tone >= prepared);
    if (after <= 0) return means[after < 0 ? means.length - 1 : 0]?.[1] ?? 0;
    const [[a, low], [b, high]] = [means[after - 1], means[after]];
    return low + ((high - low) * (prepared - a)) / (b - a);
  };
}

/** From where the piece is looked at, mm, unless the maker says otherwise. */
export const VIEWING_MM = 400;
/** Seen noise that is worth a word, L* (estimate). */
const SEEN = 2;
/** Between graininess and mottle, cycles/mm (ISO 13660). */
const COARSE = 0.4;

/** Blotches, and grain of the dots; each by what the eye sees of it. `uncleared`: the residue that they go with. */
export function findNoise(of: Case, noise: LightNoise, uncleared: Finding | null): Finding[] {
  const { piece, proof, sums } = of;
  if (proof.direction !== 'lightens' || noise.print.tiles < 4) return [];
  const { blocks } = sums;
  const place = worstPlace(blocks, darkLight(blocks));
  const from = `from ${VIEWING_MM / 10} cm`;
  const found: Finding[] = [];
  const blotches = seenNoise(
    noise.bands.filter(({ cyclesPerMm }) => cyclesPerMm < COARSE),
    VIEWING_MM,
  );
  if (blotches > SEEN) {
    found.push({
      kind: 'mottle',
      severity: 60 * towards(blotches - SEEN / 2, 4),
      sentence: `The light areas look blotchy ${from}: ${blotches.toFixed(1)} L* of unevenness as the eye sees it${uncleared ? ', which goes with the residue' : ''}.`,
      value: blotches,
      unit: 'L*',
      place,
      causes: uncleared?.causes ?? ['film'],
      change: null,
    });
  }
  const grain = seenNoise(
    noise.bands.filter(({ cyclesPerMm }) => cyclesPerMm >= COARSE),
    VIEWING_MM,
  );
  if (grain > SEEN) {
    const pitchMm = Math.max(...piece.passes.map((pass) => pass.rowPitchMm));
    found.push({
      kind: 'graininess',
      severity: 40 * towards(grain - SEEN / 2, 5),
      sentence: `The light areas look grainy ${from}: ${grain.toFixed(1)} L* as the eye sees it, with dots ${mm(pitchMm)} apart.`,
      value: grain,
      unit: 'L*',
      place,
      causes: ['row-pitch'],
      change: null,
    });
  }
  return found;
}

/** How much darker than the mean of its kind an even light block is. */
function darkLight(blocks: Blocks): (block: number) => number {
  let sum = 0;
  let count = 0;
  blocks.even.forEach((even, block) => {
    if (!even) return;
    sum += blocks.lightness[block] / blocks.picture[block];
    count++;
  });
  const mean = count > 0 ? sum / count : 0;
  return (block) => (blocks.even[block] ? Math.max(0, mean - blocks.lightness[block] / blocks.picture[block]) : 0);
}
