import { renderDemo } from '../../../src/core/demo/render.ts';
import type { Picture } from '../../../src/core/image/picture.ts';
import { CLEAR_WORLD, SMOKY_WORLD } from '../../reference/finer-model/world.ts';
import { coverage } from './coverage.ts';
import { secondWorld } from './second-world.ts';

/**
 * `npm run accuracy`: rms error in L* of the proof of a crop of the demo photograph, before and after calibration, against two worlds that the law
 * has not seen. `npm run accuracy -- --coverage 300`: how often planted numbers lie inside the stated nine tenths.
 */
const WIDTH = 24;
const HEIGHT = 16;

/** Cottage, sky and sails: the part of the demo with most tones. */
function demoCrop(): Picture {
  const { width, luminance } = renderDemo({ width: 96 });
  const [left, top] = [33, 18];
  const crop = Float32Array.from(
    { length: WIDTH * HEIGHT },
    (_, i) => luminance[(top + Math.floor(i / WIDTH)) * width + left + (i % WIDTH)],
  );
  return { width: WIDTH, height: HEIGHT, luminance: crop, alpha: null };
}

const at = process.argv.indexOf('--coverage');
if (at > 0) {
  const cases = Number(process.argv[at + 1]);
  const { asked, inside, perNumber } = coverage(cases, 1000);
  console.log(`${cases} cases: ${((100 * inside) / asked).toFixed(1)} % inside`, perNumber);
} else {
  const crop = demoCrop();
  for (const [name, world] of [
    ['clear', CLEAR_WORLD],
    ['smoky', SMOKY_WORLD],
  ] as const) {
    const { before, after, beforeLight, afterLight, fit } = await secondWorld(world, crop);
    const show = (value: number) => value.toFixed(1);
    console.log(
      `${name} world: L* rms ${show(before)} before, ${show(after)} after; lighter half ${show(beforeLight)} and ${show(afterLight)}`,
    );
    for (const { words, value, before: preset, low, high } of fit.numbers.slice(0, 8)) {
      console.log(
        `  ${words}: ${preset.toPrecision(3)} → ${value.toPrecision(3)} (${low.toPrecision(3)} … ${high.toPrecision(3)})`,
      );
    }
    console.log(`  scatter ${fit.misfit.toFixed(2)}`);
  }
}
