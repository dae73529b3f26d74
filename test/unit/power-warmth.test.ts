import { describe, expect, test } from 'vitest';
import { planPass } from '../../src/burn/plan.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { powerWarmth } from '../../src/physics/heat/power-warmth.ts';
import { passWarmth, type WarmthMap } from '../../src/physics/heat/warmth.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { pictureOf, plainPiece } from '../helpers/burn.ts';

const PICTURE = pictureOf(90, 60, (x, y) => ((x >> 3) + (y >> 2)) / 26);
const pipeline = createProofPipeline();

async function both(pass: Partial<Pass>, powers: readonly number[]) {
  const plain = plainPiece(90, { rows: 'two-way', ...pass });
  const { screened, tone } = await pipeline.ready({
    piece: plain,
    photo: { key: JSON.stringify(pass), picture: PICTURE, castless: null },
  });
  const pairs: { found: WarmthMap; wanted: WarmthMap }[] = [];
  for (const lightEndPower of powers) {
    const piece: Piece = { ...plain, passes: [{ ...plain.passes[0], lightEndPower, darkEndPower: 0.05 }] };
    const grid = { width: tone.width, height: tone.height, pitchMm: plain.passes[0].rowPitchMm, subX: 1, subY: 8 };
    const job = planPass(piece, piece.passes[0], grid);
    pairs.push({
      found: await powerWarmth(piece, 0, job, screened[0]),
      wanted: passWarmth(piece, 0, job, screened[0]),
    });
  }
  return pairs;
}

describe.each([
  ['dots', { screen: 'floyd-steinberg' }],
  ['continuous tone', { screen: 'continuous' }],
] as const)('the heat of %s', (_, pass) => {
  test('is the same by maps of single levels, at every power', async () => {
    for (const { found, wanted } of await both(pass, [0.9, 0.4, 0.7, 0.4])) {
      const most = wanted.nearK.reduce((a, b) => Math.max(a, b), 0);
      expect(most).toBeGreaterThan(0);
      for (const key of ['nearK', 'olderK'] as const) {
        const off = wanted[key].reduce((worst, value, i) => Math.max(worst, Math.abs(value - found[key][i])), 0);
        expect(off).toBeLessThan(1e-5 * most);
      }
    }
  });
});

test('other settings than power are heeded', async () => {
  const [slow] = await both({ screen: 'floyd-steinberg', feedMmPerS: 40 }, [0.8]);
  const [fast] = await both({ screen: 'floyd-steinberg', feedMmPerS: 90 }, [0.8]);
  expect(slow.found.nearK).not.toEqual(fast.found.nearK);
});

test('a change of power finds the pass that is known already', async () => {
  const piece = plainPiece(90, { rows: 'two-way', screen: 'floyd-steinberg' });
  const photo = { key: 'known', picture: PICTURE, castless: null };
  const ready = (lightEndPower: number) =>
    pipeline.ready({ piece: { ...piece, passes: [{ ...piece.passes[0], lightEndPower }] }, photo });
  const [before, after] = [await ready(0.8), await ready(0.7)];
  expect(after.screened[0]).toBe(before.screened[0]);
});
