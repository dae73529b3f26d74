import { createCoarsePipeline } from '../burn/coarse.ts';
import { groundGrid, layGround } from '../burn/ground.ts';
import { createGpuJsBackend } from '../burn/kernel/gpu-js.ts';
import type { Photo } from '../burn/prepare.ts';
import { createProofPipeline } from '../burn/proof.ts';
import { createInlineRunner } from '../burn/runner.ts';
import type { StripResult } from '../burn/strip-task.ts';
import type { Piece } from '../piece/schema.ts';
import { drawFace, type FaceMap, type StrippedSurface } from '../render/model/face-map.ts';
import { facePartsOf, faceWidthPx } from '../render/model/of-piece.ts';
import type { WoodPicture } from '../render/model/wood-picture.ts';
import { likelyEnds } from '../studies/sure/likely-ends.ts';
import { createCliRunner } from './runner.ts';

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
