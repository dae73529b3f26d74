import { describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { type Crop, cellsOf, createProofPipeline, cropColors } from '../../src/burn/proof.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import type { SwathResult } from '../../src/burn/swath-task.ts';
import type { Picture } from '../../src/image/picture.ts';
import { createDemoPiece } from '../../src/piece/demo-piece.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { pictureOf } from '../helpers/burn.ts';
import { burnByReference } from '../helpers/reference-burn.ts';

const pipeline = createProofPipeline();
const runner = createInlineRunner(burnByReference);
const collect = { surface: true, fields: true, painted: false };
const PITCH = 0.15;

/** A small picture on the demo piece's grown, knotty, warped slab, every stage of the proof in play. */
function pieceWith(passes: readonly Partial<Pass>[]): Piece {
  const piece = createDemoPiece();
  return {
    ...piece,
    slab: { ...piece.slab, widthMm: 60, heightMm: 50, bowMm: 1.5, knots: [{ ...piece.slab.knots[0], xMm: 2, yMm: 1 }] },
    picture: {
      ...piece.picture,
      widthMm: 36,
      tone: { ...piece.picture.tone, unsharpMask: { radiusMm: 0.3, amount: 0.6, threshold: 0 } },
    },
    passes: passes.map((pass) => ({ ...piece.passes[0], rowPitchMm: PITCH, ...pass })),
  };
}
const picture: Picture = pictureOf(
  160,
  120,
  (x, y) => (0.55 + 0.45 * Math.sin(x / 9) * Math.cos(y / 7)) * (x > 80 && y > 60 ? 1 : 0.8),
);
const photo = { key: 'waves', picture, castless: null };

async function bothWays(piece: Piece, crop: Crop) {
  const swaths: SwathResult[] = [];
  const whole = await pipeline.proof({ piece, photo, collect }, runner, { onSwath: (swath) => swaths.push(swath) });
  const part = await pipeline.crop({ piece, photo, crop, collect }, runner);
  const { width } = whole.grid;
  const wholeColors = new Uint8Array(4 * width * whole.grid.height);
  const wholeResidue = new Float32Array(width * whole.grid.height);
  for (const swath of swaths) {
    wholeColors.set(swath.color as Uint8Array, 4 * swath.y0 * width);
    wholeResidue.set(swath.fields?.residueUm[0] as Float32Array, swath.y0 * width);
  }
  const colors = cropColors(part);
  let farthestByte = 0;
  let farthestUm = 0;
  for (const { y0, rows, fields } of part.swaths) {
    for (let y = 0; y < rows; y++) {
      for (let x = 0; x < part.grid.width; x++) {
        const to = (y0 + y) * part.grid.width + x;
        const from = (part.grid.firstY + y0 + y) * width + part.grid.firstX + x;
        const residue = fields?.residueUm[0][y * part.grid.width + x] as number;
        farthestUm = Math.max(farthestUm, Math.abs(residue - wholeResidue[from]));
        for (let k = 0; k < 3; k++) {
          farthestByte = Math.max(farthestByte, Math.abs(colors[4 * to + k] - wholeColors[4 * from + k]));
        }
      }
    }
  }
  return { whole, part, farthestByte, farthestUm };
}

const MIDDLE: Crop = { xMm: 12.3, yMm: 6.1, widthMm: 9, heightMm: 7.5 };

describe('the proof of a crop', () => {
  test.each<[string, Partial<Pass>[]]>([
    ['an ordered screen', [{ screen: 'bayer-8' }]],
    ['error diffusion, rows both ways', [{ screen: 'stucki', serpentine: true, rows: 'two-way' }]],
    ['graded tone, rows down the picture', [{ screen: 'continuous', headingRad: Math.PI / 2 }]],
    ['slanting rows', [{ screen: 'clustered-dot', headingRad: 0.4 }]],
    [
      'a second pass at a pitch and a focus of its own',
      [{}, { rowPitchMm: 0.2, focusOffsetMm: 2, lightEndPower: 0.3 }],
    ],
  ])('is that part of the whole proof, with %s', async (_, passes) => {
    const { whole, part, farthestByte, farthestUm } = await bothWays(pieceWith(passes), MIDDLE);
    expect(part.grid).toMatchObject({ firstX: 82, firstY: 41, width: 60, height: 50 });
    // Rows are cut where the source's lag and the beam's tail have died away, as between swaths.
    expect(farthestUm).toBeLessThan(0.02);
    expect(farthestByte).toBeLessThanOrEqual(1);
    expect(part.summary.burnTimeS).toBe(whole.summary.burnTimeS);
    expect(part.summary.rows).toBe(whole.summary.rows);
    expect(part.summary.lightShare).toBeGreaterThan(0);
  });

  test('parts side by side count what the whole counts', async () => {
    const piece = pieceWith([{ screen: 'bayer-4' }]);
    const half = { yMm: 0, widthMm: 18, heightMm: 27 };
    const { whole, part: left } = await bothWays(piece, { xMm: 0, ...half });
    const { part: right } = await bothWays(piece, { xMm: 18, ...half });
    expect(left.grid.width + right.grid.width).toBe(whole.grid.width);
    const parts = [left, right];
    const sum = (pick: (one: (typeof parts)[number]) => number) => parts.reduce((total, one) => total + pick(one), 0);
    const pictureCells = (one: (typeof parts)[number]) =>
      one.swaths.reduce((total, { stats }) => total + stats.pictureCells, 0);
    const unclearedOf = ({ summary }: (typeof parts)[number]) => summary.unclearedShare * summary.lightShare;
    const cells = sum(pictureCells);
    const uncleared = sum((one) => unclearedOf(one) * pictureCells(one));
    expect(uncleared / cells).toBeCloseTo(whole.summary.unclearedShare * whole.summary.lightShare, 10);
  });

  test('a crop loses what lies beside the picture, and one beside it is refused', async () => {
    const grid = { width: 100, height: 80, pitchMm: 0.1 };
    expect(cellsOf({ xMm: -1, yMm: 7.5, widthMm: 3, heightMm: 3 }, grid)).toEqual({
      firstX: 0,
      firstY: 75,
      width: 20,
      height: 5,
    });
    expect(() => cellsOf({ xMm: 11, yMm: 0, widthMm: 3, heightMm: 3 }, grid)).toThrow(RangeError);
  });

  test('can be stopped', async () => {
    const stopped = pipeline.crop({ piece: pieceWith([{}]), photo, crop: MIDDLE, collect }, runner, {
      signal: AbortSignal.abort(new Cancelled()),
    });
    await expect(stopped).rejects.toThrow('cancelled');
  });

  test('does not stop a proof that is under way', async () => {
    const piece = pieceWith([{ screen: 'bayer-4' }]);
    const other = pieceWith([{ screen: 'bayer-2' }]);
    const stop = new AbortController();
    const [proof, crop] = await Promise.allSettled([
      pipeline.proof({ piece: other, photo, collect }, runner, {
        onSwath: () => {
          stop.abort();
        },
      }),
      pipeline.crop({ piece, photo, crop: MIDDLE, collect }, runner, { signal: stop.signal }),
    ]);
    expect(proof.status).toBe('fulfilled');
    expect(crop.status).toBe('rejected');
  });
});
