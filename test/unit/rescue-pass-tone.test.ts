import { expect, test } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createPiece, plainSlab } from '../../src/piece/defaults.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { fitPassTone, patchShares } from '../../src/studies/rescue/propose.ts';
import { withPass } from '../../src/studies/rescue/rescue-sample.ts';
import { createRescueScene, patchLightness, rescueTools } from '../../src/studies/rescue/rescue-scene.ts';
import { pictureOf } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const base = createPiece('ramp', 'ramp.png');
const weak: Piece = {
  ...base,
  slab: plainSlab(base.slab),
  heat: { ...base.heat, carryOver: false },
  picture: { ...base.picture, widthMm: 20, crop: 'rectangle' },
  passes: [{ ...base.passes[0], screen: 'continuous', lightEndPower: 0.45, darkEndPower: 0.1 }],
};
const photo = { key: 'ramp', castless: null, picture: pictureOf(60, 40, (x) => x / 59) };

test('a further pass in continuous tone has tones of its own, which bring the middle to where one good pass would', async () => {
  const tools = rescueTools(createProofPipeline(), createCoarsePipeline(), await cpuRunner());
  const scene = createRescueScene(weak, photo, tools);
  const further: Pass = { ...weak.passes[0], lightEndPower: 0.5, darkEndPower: 0 };
  const tone = (await fitPassTone(scene, weak, further))!;
  const values = tone.curve.map(([, value]) => value);
  expect(values).toEqual(values.toSorted((a, b) => a - b));
  expect(values[0]).toBeLessThan(0.1);
  expect(values.at(-1)).toBe(1);

  const lightness = async (piece: Piece): Promise<number[]> => {
    const scale = await scene.burn(piece, 'fine');
    const film = scale.films.findIndex((share) => share >= 1 - 1e-9);
    return scale.tones.map((_, i) => patchLightness(scale, film * scale.tones.length + i));
  };
  const powers = Array.from({ length: 14 }, (_, i) => 0.6 + 0.0125 * i);
  const atOnce = (power: number): Piece => ({ ...weak, passes: [{ ...weak.passes[0], lightEndPower: power }] });
  const clears = async (power: number) => patchShares(scene, await scene.burn(atOnce(power), 'fine')).uncleared < 0.05;
  let power = 0;
  for (const one of powers) if (power === 0 && (await clears(one))) power = one;
  const wanted = await lightness(atOnce(power));
  const own = await lightness(withPass(weak, { ...further, tone }));
  const same = await lightness(withPass(weak, further));
  const off = (got: readonly number[]) => Math.hypot(...got.slice(1, -2).map((value, i) => value - wanted[i + 1]));
  expect(off(own)).toBeLessThan(0.5 * off(same));
  expect(await fitPassTone(scene, weak, { ...further, screen: 'stucki' })).toBeNull();
});
