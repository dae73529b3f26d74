import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import type { Photo } from '../../src/burn/prepare.ts';
import { createProofPipeline, type Proof } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createPiece, plainSlab } from '../../src/piece/defaults.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { type Diagnosis, diagnose } from '../../src/studies/diagnose/diagnose.ts';
import { createProofTally, type ProofTally } from '../../src/studies/diagnose/tally.ts';
import { judged } from '../../src/studies/sure/judge.ts';
import { pictureOf } from './burn.ts';

const smooth = (x: number): number => x * x * (3 - 2 * x);

/** A landing in small: a bright sky over all of the upper half, a pale sail, a ramp of middle tones, dark rocks; soft edges. */
export function landing(width: number, height: number): Picture {
  return pictureOf(width, height, (x, y) => {
    const u = x / width;
    const v = y / height;
    if (v < 0.5) return 0.96 - 0.1 * v;
    const sail = Math.min(1, Math.max(0, 8 * (0.16 - Math.abs(u - 0.25))));
    const water = 0.05 + 0.75 * smooth(1 - u) * (1 - 0.5 * v);
    const rocks = smooth(Math.min(1, Math.max(0, 6 * (v - 0.8))));
    const under = water * (1 - rocks) + 0.006 * rocks;
    return under + (0.9 - under) * sail * (1 - rocks);
  });
}

/** A piece that comes out well: the default stack with enough power, on plain wood, small. */
export function goodPiece(widthMm = 36, pass: Partial<Pass> = {}): Piece {
  const piece = createPiece('Landing', 'landing.png');
  return {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 1000, heightMm: 1000 },
    picture: { ...piece.picture, widthMm, crop: 'rectangle' },
    passes: [{ ...piece.passes[0], lightEndPower: 0.96, ...pass }],
  };
}

const pipeline = createProofPipeline();
let photos = 0;

/** Burns a piece and diagnoses it. */
export async function diagnosed(
  piece: Piece,
  picture: Picture,
  runner: SwathRunner,
  draws = 0,
): Promise<{ diagnosis: Diagnosis; proof: Proof }> {
  photos++;
  const photo: Photo = { key: `diagnosed-${photos}`, picture, castless: null };
  let tally: ProofTally | null = null;
  const proof = await pipeline.proof(
    { piece, photo, collect: { surface: true, fields: true, painted: false } },
    runner,
    {
      onTone: (tone) => {
        tally = createProofTally(tone, piece.passes[0].rowPitchMm);
      },
      onSwath: (strip) => tally?.add(strip),
    },
  );
  const scene = createCoarsePipeline().scene(piece, photo);
  const sums = (tally as ProofTally | null)!.sums();
  return {
    diagnosis: await diagnose(piece, proof, await judged(piece, proof, runner, 12), sums, scene, runner, { draws }),
    proof,
  };
}
