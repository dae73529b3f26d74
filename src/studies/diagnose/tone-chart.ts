import { burnToneScale } from '../../burn/tone-scale.ts';
import { lightnessToLuminance } from '../../image/lightness.ts';
import { adjustedLightness } from '../../image/tone.ts';
import { powerAt } from '../../physics/beam/source.ts';
import type { Pass, Piece } from '../../piece/schema.ts';
import { drawPiece } from '../sure/spread.ts';
import type { Case } from './case.ts';
import { lightnessOf } from './outlook.ts';
import { stackRange } from './tones.ts';

/** What becomes of each tone of the photo on a film of mean thickness. All arrays go with `tones`. */
export interface ToneChart {
  /** Lightness of the photo, 0–1, rising. */
  readonly tones: readonly number[];
  /** L* that equal steps of the photo's lightness ask for. */
  readonly wanted: readonly number[];
  /** After each pass. */
  readonly passes: readonly ToneLine[];
  /** L* after the last pass in the middle eight tenths of what paint and beam may truly be. */
  readonly low: readonly number[];
  readonly high: readonly number[];
}

export interface ToneLine {
  /** Mean power of this pass, share of full power. */
  readonly power: readonly number[];
  /** Mean residue of the topmost coat after it, µm, and L*. */
  readonly residueUm: readonly number[];
  readonly lightness: readonly number[];
}

const CHART = { tones: 17, films: [1], patchDots: 16 };

/** @param draws pieces drawn for the band; 0 leaves it without width. */
export async function toneChart(of: Case, draws: number): Promise<ToneChart> {
  const { piece, proof, runner, warmthsK } = of;
  const burn = (other: Piece) =>
    burnToneScale(other, proof.appearance, runner, warmthsK.slice(0, other.passes.length), CHART);
  const passes: ToneLine[] = [];
  let tones: readonly number[] = [];
  for (let i = 0; i < piece.passes.length; i++) {
    const scale = await burn({ ...piece, passes: piece.passes.slice(0, i + 1) });
    tones = scale.tones;
    const power = tones.map(meanPower(piece.passes[i], piece));
    passes.push({ power, residueUm: [...scale.meanResidueUm], lightness: lightnessOf(scale, 0) });
  }
  const drawn: number[][] = [];
  for (let draw = 0; draw < draws; draw++) drawn.push(lightnessOf(await burn(drawPiece(piece, draw)), 0));
  const last = passes[passes.length - 1].lightness;
  const edge = (share: number) =>
    tones.map((_, i) => {
      const values = drawn.map((one) => one[i]).sort((a, b) => a - b);
      return values.length > 0 ? values[Math.min(values.length - 1, Math.floor(share * values.length))] : last[i];
    });
  const wished = adjustedLightness({ ...piece.picture.tone, curve: [] });
  const { darkest, lightest } = stackRange(of);
  const wanted = tones.map((tone) => darkest + (lightest - darkest) * wished(tone));
  return { tones, wanted, passes, low: edge(0.1), high: edge(0.9) };
}

/** Mean set power of a tone: graded by lightness, or dots by their share of the area. */
function meanPower(pass: Pass, piece: Piece): (tone: number) => number {
  const burned = adjustedLightness(pass.tone ?? piece.picture.tone);
  return (tone) => {
    const share = pass.screen === 'continuous' ? burned(tone) : lightnessToLuminance(burned(tone));
    return powerAt(pass, 255 * share);
  };
}
