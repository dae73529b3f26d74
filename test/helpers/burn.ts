import type { Photo } from '../../src/burn/prepare.ts';
import { createProofPipeline, type Proof, type ProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner, type SwathRunner } from '../../src/burn/runner.ts';
import type { SwathResult } from '../../src/burn/swath-task.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createPiece, evenCoat, NEUTRAL_TONE, plainSlab } from '../../src/piece/defaults.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { burnByReference } from './reference-burn.ts';

/** A picture from a function of the place; values are luminances 0–1. */
export function pictureOf(width: number, height: number, at: (x: number, y: number) => number): Picture {
  const luminance = Float32Array.from({ length: width * height }, (_, i) => at(i % width, Math.floor(i / width)));
  return { width, height, luminance, alpha: null };
}

/** A small photograph that rises from black to white along its rows. */
export const rampPhoto = (): Photo => ({ key: 'ramp', picture: pictureOf(60, 40, (x) => x / 60), castless: null });

/** The default piece made plain for tests: plain cold wood, straight tones, continuous tone, rectangle on a large slab, one dot a pixel. */
export function plainPiece(dotsWide: number, pass: Partial<Pass> = {}): Piece {
  const piece = createPiece('test', 'test.png');
  const merged = { ...piece.passes[0], screen: 'continuous' as const, ...pass };
  return {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 1000, heightMm: 1000 },
    heat: { ...piece.heat, carryOver: false },
    picture: { ...piece.picture, widthMm: dotsWide * merged.rowPitchMm, crop: 'rectangle', tone: NEUTRAL_TONE },
    passes: [merged],
  };
}

/** The piece with coats of even thickness. */
export const flatFilm = (piece: Piece): Piece => ({
  ...piece,
  stack: { ...piece.stack, coats: piece.stack.coats.map(evenCoat) },
});

/** Over an undercoat that stands three times as much, so that how little is known of its onset of scorch does not decide. */
export const withHardyUndercoat = (piece: Piece): Piece => ({
  ...piece,
  stack: {
    ...piece.stack,
    coats: piece.stack.coats.map((coat, i) =>
      i === 1 ? { ...coat, scorchOnsetJPerMm2: 3 * coat.scorchOnsetJPerMm2 } : coat,
    ),
  },
});

/** The piece burned by a source without delay, for tests that are about something else: the least work along the rows. */
export const withPromptSource = (piece: Piece): Piece => ({
  ...piece,
  machine: { ...piece.machine, source: { ...piece.machine.source, riseTimeS: 0, fallTimeS: 0 } },
});

export interface BurnedFields {
  readonly proof: Proof;
  readonly width: number;
  readonly height: number;
  readonly residueUm: Float32Array[];
  readonly woodDepthUm: Float32Array;
  readonly excess: Float32Array;
  /** sRGB bytes, RGBA. */
  readonly color: Uint8Array;
}

/** One for all tests of a file: it keeps colour tables, which take a while to make. */
const sharedPipeline = createProofPipeline();
let photos = 0;

/** Burns a picture through the whole pipeline and gathers the fields. */
export async function burn(
  piece: Piece,
  picture: Picture,
  runner: SwathRunner = createInlineRunner(burnByReference),
  pipeline: ProofPipeline = sharedPipeline,
): Promise<BurnedFields> {
  const swaths: SwathResult[] = [];
  photos++;
  const proof = await pipeline.proof(
    {
      piece,
      photo: { key: `test-${photos}`, picture, castless: null },
      collect: { surface: true, fields: true, painted: false },
    },
    runner,
    { onSwath: (swath) => swaths.push(swath) },
  );
  const { width, height } = proof.grid;
  const gather = (pick: (strip: SwathResult) => Float32Array): Float32Array => {
    const whole = new Float32Array(width * height);
    for (const strip of swaths) whole.set(pick(strip), strip.y0 * width);
    return whole;
  };
  const color = new Uint8Array(4 * width * height);
  for (const strip of swaths) color.set(strip.color as Uint8Array, 4 * strip.y0 * width);
  return {
    proof,
    width,
    height,
    residueUm: piece.stack.coats.map((_, i) => gather((strip) => strip.fields!.residueUm[i])),
    woodDepthUm: gather((strip) => strip.fields!.woodDepthUm),
    excess: gather((strip) => strip.fields!.excess),
    color,
  };
}
