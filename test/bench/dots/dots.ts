import type { SeenError } from '../../../src/burn/seen-error.ts';
import { type Piece, SCREEN_METHODS, type ScreenMethod } from '../../../src/piece/schema.ts';
import { BLIND_WORLDS } from '../../reference/finer-model/blind-worlds.ts';
import { createWorkshop } from '../../reference/finer-model/workshop.ts';
import { calibrate, FEED, PICTURE_AT, PITCH, startingPiece } from '../calibration/blind-trial.ts';
import { photograph } from '../calibration/pictures.ts';
import { burnedBy, type Dots, dotsBy, judge } from './burn-dots.ts';
import { benchStacks, burnsThatAreOff } from './stacks.ts';

/**
 * `npm run bench:dots`: how near each screen's burned picture comes to the wanted one, as the eye sees both from 40 cm; a line of JSON each.
 * `-- --photos FOLDER --files a.png,b.png`, `--width DOTS`, `--screens direct-search,stucki`, `--stacks preset`, `--off` burns the same dots where
 * film, threshold or spot are one deviation off, `--worlds clear,hot` in worlds of the finer model, by what two cards have told of them.
 */
const option = (name: string): string | null => {
  const at = process.argv.indexOf(`--${name}`);
  return at < 0 ? null : (process.argv[at + 1] ?? '');
};
const folder = option('photos') ?? 'test/fixtures/repair';
const files = (option('files') ?? 'camera.png,chelsea.png').split(',');
const screens = (option('screens')?.split(',') ?? SCREEN_METHODS) as readonly ScreenMethod[];
const width = Number(option('width') ?? 240);
const worlds = option('worlds')?.split(',') ?? [];
const stacks = option('stacks')?.split(',');
const off = process.argv.includes('--off');

const photoOf = async (file: string) => {
  const picture = await photograph(`${folder}/${file}`, width, Math.round((2 * width) / 3));
  return { key: file, picture, castless: null };
};

function tell(stack: string, file: string, screen: ScreenMethod, burn: string, error: SeenError): void {
  const round = (_: string, value: unknown) => (typeof value === 'number' ? Math.round(1000 * value) / 1000 : value);
  console.log(JSON.stringify({ stack, file, screen, burn, ...error }, round));
}

async function eachScreen(
  stack: string,
  piece: Piece,
  burn: (screen: ScreenMethod, file: string, dots: Dots) => Promise<void>,
) {
  for (const file of files) {
    const photo = await photoOf(file);
    for (const screen of screens) await burn(screen, file, await dotsBy(screen, { ...piece, name: stack }, photo));
  }
}

if (worlds.length === 0) {
  for (const { name, piece } of benchStacks(width * PITCH)) {
    if (stacks && !stacks.includes(name)) continue;
    await eachScreen(name, piece, async (screen, file, dots) => {
      for (const [how, burned] of off ? burnsThatAreOff(dots.piece) : [['as planned', dots.piece] as const]) {
        tell(name, file, screen, how, judge(await burnedBy(burned, dots), dots));
      }
    });
  }
}
for (const world of BLIND_WORLDS.filter(({ name }) => worlds.includes(name))) {
  const workshop = createWorkshop(world, 100 + world.name.length, FEED, PITCH);
  const { piece: fitted } = await calibrate(workshop, startingPiece(workshop, 1), 'two, proposed', 1);
  // A quarter more than what just clears an even film.
  const lightEndPower = Math.min(1, 1.25 * world.clearsAt);
  const piece: Piece = {
    ...fitted,
    picture: { ...fitted.picture, widthMm: width * PITCH },
    passes: [{ ...fitted.passes[0], lightEndPower, darkEndPower: 0 }],
  };
  await eachScreen(world.name, piece, async (screen, file, dots) => {
    const [{ levels, raster }] = dots.planned.screened;
    const power = Float32Array.from(levels, (level) => (lightEndPower * level) / 255);
    const pass = { power, feedMmPerS: FEED };
    const { xyz } = workshop.picture(raster.columns, raster.rows, PITCH, [pass], PICTURE_AT);
    const luminance = Float32Array.from({ length: levels.length }, (_, i) => xyz[3 * i + 1]);
    tell(world.name, file, screen, 'finer model', judge(luminance, dots));
  });
}
