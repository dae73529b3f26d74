import { srgbDecodingTable } from '../../../src/base/color/srgb.ts';
import { createCoarsePipeline } from '../../../src/burn/coarse.ts';
import { fitTones } from '../../../src/burn/fit-tones.ts';
import { planJob } from '../../../src/burn/plan.ts';
import type { Photo } from '../../../src/burn/prepare.ts';
import { createProofPipeline } from '../../../src/burn/proof.ts';
import type { PlannedPicture } from '../../../src/burn/ready-picture.ts';
import { createInlineRunner, runSwaths } from '../../../src/burn/runner.ts';
import { type SeenError, seenError } from '../../../src/burn/seen-error.ts';
import type { SwathResult } from '../../../src/burn/swath-task.ts';
import { lightnessToLuminance } from '../../../src/image/lightness.ts';
import type { ToneImage } from '../../../src/image/picture.ts';
import { powerWarmth } from '../../../src/physics/heat/power-warmth.ts';
import { NEUTRAL_TONE } from '../../../src/piece/defaults.ts';
import { isModelMethod, type Piece, type ScreenMethod } from '../../../src/piece/schema.ts';

const runner = createInlineRunner();
const pipeline = createProofPipeline();

/** A picture screened, and what it should look like: L* of its darkest and its lightest, evenly between. */
export interface Dots {
  readonly piece: Piece;
  readonly planned: PlannedPicture;
  readonly wanted: ToneImage;
  readonly darkest: number;
  readonly lightest: number;
}

/**
 * A piece's dots by a screen, with the tones that it needs: fitted to the stack at the warmth that the picture is likely to have, or straight
 * where the burn itself decides.
 */
export async function dotsBy(screen: ScreenMethod, plain: Piece, photo: Photo): Promise<Dots> {
  const piece: Piece = { ...plain, passes: [{ ...plain.passes[0], screen }] };
  const warmthsK = createCoarsePipeline().warmthsK(piece, photo);
  const fitted = { rounds: isModelMethod(screen) ? 0 : 4, warmthsK };
  const { curve, darkest, lightest } = await fitTones(piece, pipeline.appearance(piece), runner, fitted);
  const toned = { ...piece, picture: { ...piece.picture, tone: { ...NEUTRAL_TONE, curve } } };
  const planned = (await pipeline.ready({ piece: toned, photo })) as PlannedPicture;
  return { piece: toned, planned, wanted: pipeline.prepared(piece, photo), darkest, lightest };
}

/** Luminance of each cell, by the product's own burn of the dots with another piece: one that is not quite what it was taken for. */
export async function burnedBy(piece: Piece, { planned }: Dots): Promise<Float32Array> {
  const { whole, tone, screened, appearance, direction } = planned;
  const job = planJob(piece, appearance, whole, null, { surface: true, fields: false, painted: false });
  const warmth = piece.heat.carryOver ? await powerWarmth(piece, 0, job.passes[0], screened[0]) : null;
  const passes = [{ ...job.passes[0], warmth }];
  const luminance = new Float32Array(whole.width * whole.height);
  const table = srgbDecodingTable(8);
  const onSwath = ({ y0, rows, color }: SwathResult): void => {
    const codes = color as Uint8Array;
    for (let i = 0, at = y0 * whole.width; i < rows * whole.width; i++, at++) {
      const [red, green, blue] = [0, 1, 2].map((k) => table[codes[4 * i + k]]);
      luminance[at] = 0.2126 * red + 0.7152 * green + 0.0722 * blue;
    }
  };
  const lightens = direction === 'lightens';
  const work = { job: { ...job, passes }, grid: whole, screened, tone, lightens, swathRows: 64 };
  await runSwaths(runner, work, { onSwath });
  return luminance;
}

export function judge(luminance: Float32Array, { wanted, planned, darkest, lightest }: Dots): SeenError {
  const { width, height, lightness, mask } = wanted;
  const aim = lightness.map((x) => lightnessToLuminance((darkest + (lightest - darkest) * x) / 100));
  return seenError({ width, height, pitchMm: planned.whole.pitchMm, burned: luminance, wanted: aim, lightness, mask });
}
