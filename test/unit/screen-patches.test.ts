import { expect, test } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createPreparation, type Photo } from '../../src/burn/prepare.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { type Piece, SCREEN_METHODS } from '../../src/piece/schema.ts';
import { patchPiece, type ScreenPatch, screenPatches } from '../../src/studies/grid/screen-patches.ts';
import { pictureOf } from '../helpers/burn.ts';

const WIDE = 300;
const TALL = 200;
/** Side of a patch. */
const PATCH_MM = 14;

/** Dark, but for a corner where a ramp leads to white. */
const photo: Photo = {
  key: 'ramp',
  picture: pictureOf(WIDE, TALL, (x, y) => (x > 220 && y < 60 ? (x - 220) / 80 : 0.02)),
  castless: null,
};

const wide = (): Piece => {
  const piece = createPiece('Wide', 'wide.png');
  return { ...piece, picture: { ...piece.picture, widthMm: 90, crop: 'rectangle' } };
};

test('the patch is the part of the photograph that tells most, at the size that it has on the slab', () => {
  const coarse = createCoarsePipeline();
  for (const cut of [null, { xMiddle: 0.6, yMiddle: 1 / 3, width: 0.8, height: 2 / 3, turnRad: 0 }]) {
    const piece = wide();
    const { picture } = patchPiece(coarse, { ...piece, picture: { ...piece.picture, cut } }, photo);
    expect(picture.widthMm).toBe(PATCH_MM);
    // 14 of 90 mm of what is used of the photograph.
    expect(picture.cut?.width).toBeCloseTo(((cut?.width ?? 1) * PATCH_MM) / 90, 6);
    const tone = createPreparation().tone(photo, { ...piece, picture }, 0.1, piece.picture.tone);
    const values = tone.lightness.toSorted();
    expect(values[0]).toBeLessThan(0.3);
    expect(values.at(-1)).toBeGreaterThan(0.8);
  }
});

test('every screen burns the patch, and what goes by the burn comes nearest', async () => {
  const patches: ScreenPatch[] = [];
  const tools = { coarse: createCoarsePipeline(), runner: createInlineRunner() };
  await screenPatches(wide(), 0, photo, tools, (patch) => patches.push(patch));
  expect(patches.map(({ method }) => method)).toEqual([...SCREEN_METHODS]);
  for (const { width, height, color } of patches) expect(color).toHaveLength(4 * width * height);
  const errorOf = (method: string) => patches.find((patch) => patch.method === method)!.error.rms;
  expect(errorOf('direct-search')).toBeLessThan(0.8 * errorOf('floyd-steinberg'));
  expect(errorOf('direct-search')).toBeLessThan(errorOf('model-diffusion'));
});
