import { drawFace, type FaceMap, type StrippedSurface } from '../../core/mockup/face-map.ts';
import { facePartsOf, faceWidthPx } from '../../core/mockup/of-piece.ts';
import type { WoodPicture } from '../../core/mockup/wood-picture.ts';
import type { Piece } from '../../core/piece/schema.ts';
import { createGpuJsBackend } from '../../kernels/gpu-js.ts';
import { createCoarsePipeline } from '../../sim/coarse.ts';
import { groundGrid, layGround } from '../../sim/ground.ts';
import { likelyEnds } from '../../sim/likely-ends.ts';
import type { Photo } from '../../sim/prepare.ts';
import { createProofPipeline } from '../../sim/proof.ts';
import { createInlineRunner } from '../../sim/runner.ts';
import type { StripResult } from '../../sim/strip-task.ts';
import { createCliRunner } from '../runner.ts';

type Strip = StrippedSurface['strips'][number];
const drawn = ({ y0, rows, color, relief }: StripResult): Strip => ({ y0, rows, color: color!, relief: relief! });

export interface MadeFaces {
  readonly face: FaceMap;
  /** Coarse faces at the ends of what is likely; null if not asked for. */
  readonly band: { readonly lighter: FaceMap; readonly darker: FaceMap } | null;
}

/** Pixels over the slab's width of the faces of the band. */
const BAND_PX = 900;

/** Burns a piece and draws its face as it will look. */
export async function makeFaces(
  piece: Piece,
  photo: Photo,
  wood: WoodPicture | null,
  options: { readonly widthPx: number; readonly draws: number; readonly now: () => number },
  onProgress: (share: number, stage: string) => void,
): Promise<MadeFaces> {
  const runner = await createCliRunner();
  try {
    const strips: Strip[] = [];
    const pipeline = createProofPipeline();
    const proof = await pipeline.proof(
      { piece, photo, collect: { surface: true, fields: false, painted: false } },
      runner,
      { onStrip: (strip) => strips.push(drawn(strip)), onProgress, now: options.now },
    );
    onProgress(1, 'slab');
    const laid: Strip[] = [];
    await layGround(piece, proof.appearance, runner, (strip) => laid.push(drawn(strip)));
    const ground = { ...groundGrid(piece), strips: laid };
    const { width, height, pitchMm } = proof.grid;
    const face = drawFace(
      facePartsOf(piece, ground, { width, height, pitchMm, strips }, wood),
      faceWidthPx(piece, options.widthPx),
    );
    const band = options.draws > 0 ? await bandOf(piece, photo, wood, ground, options.draws, onProgress) : null;
    return { face, band };
  } finally {
    runner.dispose();
  }
}

async function bandOf(
  piece: Piece,
  photo: Photo,
  wood: WoodPicture | null,
  ground: StrippedSurface,
  draws: number,
  onProgress: (share: number, stage: string) => void,
): Promise<MadeFaces['band']> {
  const runner = createInlineRunner(await createGpuJsBackend('cpu', 'band'));
  const pipeline = createProofPipeline();
  const coarse = createCoarsePipeline();
  try {
    const ends = await likelyEnds(
      piece,
      coarse.scene(piece, photo),
      pipeline.appearance(piece),
      runner,
      { draws, warmthsK: coarse.warmthsK(piece, photo) },
      async (draw) => {
        onProgress(draw / draws, 'likely results');
        return true;
      },
    );
    const faceOf = async (one: Piece): Promise<FaceMap> => {
      const quick = await coarse.coarse(one, photo, pipeline.appearance(one), runner);
      const { width, height, pitchMm, color, relief } = quick;
      const proof = { width, height, pitchMm, strips: [{ y0: 0, rows: height, color, relief }] };
      return drawFace(facePartsOf(one, ground, proof, wood), faceWidthPx(one, BAND_PX));
    };
    return { lighter: await faceOf(ends.lighter), darker: await faceOf(ends.darker) };
  } finally {
    runner.dispose();
  }
}
