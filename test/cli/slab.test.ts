import { readFile, writeFile } from 'node:fs/promises';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { areaMm2, boundsMm } from '../../src/base/geometry/outline.ts';
import { decodePieceFile } from '../../src/piece/file.ts';
import type { Slab } from '../../src/piece/schema.ts';
import { svgToOutline } from '../../src/vision/slab/svg.ts';
import { runCli, temporaryFolder } from '../helpers/command-line.ts';
import {
  CAMERA,
  corners,
  PLANK,
  project,
  renderSlabPhoto,
  SLICE,
  type SlabScene,
} from '../helpers/render-slab-photo.ts';

let folder: Awaited<ReturnType<typeof temporaryFolder>>;
let slice = '';
const STRAIGHT = { ...CAMERA, tiltRad: 0, turnRad: 0 };
const at = ([x, y]: readonly [number, number]): string => `${x.toFixed(2)},${y.toFixed(2)}`;
const card = corners(SLICE.card!).map((corner) => at(project(CAMERA, corner)));
const scale = `card ${card.join(' ')}`;

async function photograph(name: string, scene: SlabScene, camera = CAMERA): Promise<string> {
  const { width, height, rgba } = renderSlabPhoto(scene, camera);
  const path = folder.file(name);
  await sharp(rgba, { raw: { width, height, channels: 4 } })
    .png({ compressionLevel: 1 })
    .toFile(path);
  return path;
}

beforeAll(async () => {
  folder = await temporaryFolder();
  slice = await photograph('slice.png', SLICE);
}, 60_000);
afterAll(() => folder.remove());

describe('slab', () => {
  test('a card, found by itself, gives outline, masking line, knot and check at true size; the SVG reads back the same', async () => {
    const out = folder.file('found.svg');
    const ran = await runCli(['slab', slice, '--scale', 'card', '--out', out, '--json']);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const report = JSON.parse(ran.out);
    const truth = areaMm2(SLICE.outline);
    const { outline, notes } = svgToOutline(await readFile(out, 'utf8'));
    expect(notes).toEqual([]);
    expect(Math.abs(areaMm2(outline) / truth - 1)).toBeLessThan(0.01);
    expect(Math.abs(report.areaMm2 / truth - 1)).toBeLessThan(0.01);
    const box = boundsMm(outline);
    expect(box.right - box.left).toBeCloseTo(report.widthMm, 2);
    // The frame is the card's: width stays width.
    expect(report.widthMm).toBeGreaterThan(report.heightMm + 40);
    expect(report.outlineMm).toHaveLength(outline.length);
    expect(report.defects.map(({ kind }: { kind: string }) => kind)).toEqual(['knot', 'check']);
    expect(Math.abs(report.defects[0].diameterMm - 18)).toBeLessThan(2);
    // 4 mm of bark, 3.4 mm of rim, 1 mm onto it.
    expect(report.zones.maskInsetMm).toBeGreaterThan(5.4);
    expect(report.zones.maskInsetMm).toBeLessThan(7.4);
    expect(areaMm2(report.zones.maskingLineMm)).toBeLessThan(0.93 * report.areaMm2);
  }, 60_000);

  test('a ruler in a photo from straight above, told in words, with what it cannot know', async () => {
    const photo = await photograph('plank.png', PLANK, STRAIGHT);
    const [x, y] = PLANK.ruler!.at;
    const [c, s] = [Math.cos(PLANK.ruler!.turnRad), Math.sin(PLANK.ruler!.turnRad)];
    const ends = [-90, 60].map((mm) => at(project(STRAIGHT, [x + c * mm, y + s * mm])));
    const out = folder.file('plank.svg');
    const ran = await runCli(['slab', photo, '--scale', `ruler 150 ${ends.join(' ')}`, '--out', out]);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { outline } = svgToOutline(await readFile(out, 'utf8'));
    expect(Math.abs(areaMm2(outline) / areaMm2(PLANK.outline) - 1)).toBeLessThan(0.01);
    expect(ran.out).toMatch(/plank\.svg: 29\d\.\d × 1\d\d\.\d mm, \d+\.\d cm²; masking line/);
    expect(ran.out).toContain('Knot of 2');
    expect(ran.out).toContain('A ruler gives the size only');
  }, 60_000);

  test('a rectangle twice as large in mm gives four times the area', async () => {
    const areas: number[] = [];
    for (const size of ['85.6x53.98', '171.2x107.96']) {
      const line = `rectangle ${size} ${card.join(' ')}`;
      const ran = await runCli(['slab', slice, '--scale', line, '--out', folder.file('r.svg'), '--json']);
      areas.push(JSON.parse(ran.out).areaMm2);
    }
    expect(Math.abs(areas[0] / areaMm2(SLICE.outline) - 1)).toBeLessThan(0.01);
    expect(areas[1] / areas[0]).toBeCloseTo(4, 1);
  }, 60_000);
});

describe('slab into a piece', () => {
  let path = '';
  let upright: Slab;

  test('takes outline, knot, rim and the photographed face; all else in it stays', async () => {
    path = folder.file('demo.foreburn');
    await runCli(['demo', '--width-px', '64', '--out', path]);
    const before = decodePieceFile(await readFile(path)).piece;
    const ran = await runCli(['slab', slice, '--scale', scale, '--piece', path]);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { piece, images } = decodePieceFile(await readFile(path));
    expect({ ...piece, slab: null }).toEqual({ ...before, slab: null });
    const { slab } = piece;
    upright = slab;
    expect(slab).toMatchObject({ shape: 'outline', wood: before.slab.wood });
    expect(slab.outlineMm.length).toBeLessThanOrEqual(400);
    expect(Math.abs(areaMm2(slab.outlineMm) / areaMm2(SLICE.outline) - 1)).toBeLessThan(0.01);
    expect(slab.knots).toHaveLength(1);
    expect(slab.maskedRimMm).toBeGreaterThan(5);
    const { file, widthMm, heightMm } = slab.photo!;
    expect(widthMm).toBeCloseTo(slab.widthMm + 4, 0);
    expect(heightMm).toBeCloseTo(slab.heightMm + 4, 0);
    expect(new Set(images.keys())).toEqual(new Set([before.picture.file, file]));
    // Light wood in the middle, and beside the rim more of the dark rim instead of the table.
    const { data, info } = await sharp(images.get(file)).raw().toBuffer({ resolveWithObject: true });
    expect(info.width / info.height).toBeCloseTo(widthMm / heightMm, 2);
    const green = (x: number, y: number) => data[3 * (Math.round(y) * info.width + Math.round(x)) + 1];
    expect(green(0.5 * info.width, 0.6 * info.height)).toBeGreaterThan(150);
    const [right, bottom] = [info.width - 1, info.height - 1];
    for (const [x, y] of [
      [0, bottom / 2],
      [right, bottom / 2],
      [right / 2, 0],
      [right / 2, bottom],
    ]) {
      expect(green(x, y)).toBeLessThan(110);
    }
  }, 90_000);

  test('takes the place of the slab before, turned; the old face goes', async () => {
    const svg = folder.file('turned.svg');
    const ran = await runCli(['slab', slice, '--scale', scale, '--piece', path, '--turn', '90', '--out', svg]);
    expect(ran).toMatchObject({ code: 0, error: '' });
    const { piece, images } = decodePieceFile(await readFile(path));
    expect(new Set(images.keys())).toEqual(new Set([piece.picture.file, piece.slab.photo!.file]));
    expect(piece.slab.widthMm).toBeCloseTo(upright.heightMm, 1);
    // The knot was left of the middle: a quarter clockwise brings it above.
    expect(piece.slab.knots[0].yMm).toBeCloseTo(upright.knots[0].xMm, 1);
    expect(piece.slab.knots[0].xMm).toBeCloseTo(-upright.knots[0].yMm, 1);
    const box = boundsMm(svgToOutline(await readFile(svg, 'utf8')).outline);
    expect(box.right - box.left).toBeCloseTo(piece.slab.widthMm, 0);
  }, 60_000);
});

describe('slab, bad input', () => {
  const fails = async (argv: string[], code: number, words: string) => {
    const out = folder.file('never.svg');
    const ran = await runCli(['slab', ...argv, '--out', out]);
    expect(ran.code, ran.error).toBe(code);
    expect(ran.out).toBe('');
    expect(ran.error).toContain(words);
    await expect(readFile(out)).rejects.toThrow('ENOENT');
  };

  test('no slab in the photo: the reason and the way out, no file', async () => {
    const path = folder.file('table.png');
    await sharp({ create: { width: 400, height: 300, channels: 3, background: '#8a8f91' } })
      .png()
      .toFile(path);
    await fails([path, '--scale', 'card'], 1, 'no bank card was found by itself');
    await fails([path, '--scale', 'ruler 100 50,150 350,150'], 1, 'table.png: nothing in the photograph stands out');
  });

  test('corners that cross', async () => {
    const crossed = [card[0], card[2], card[1], card[3]].join(' ');
    await fails([slice, '--scale', `card ${crossed}`], 1, 'slice.png: the points cross: go round the corners in order');
  });

  test('a scale that is missing, of zero, or not to be read', async () => {
    await fails([slice], 2, '--scale is missing');
    await fails([slice, '--scale', 'ruler 0 10,10 200,10'], 2, 'must be a number from 0.1');
    await fails([slice, '--scale', 'ruler 100 10,10 10,10'], 1, 'two marked points coincide');
    await fails([slice, '--scale', 'card 10,10 20,10 20,20'], 2, '"card" takes 4 points, got 3');
    await fails([slice, '--scale', 'card 10,10 20,10 20,20 10'], 2, '"10" is not a point');
    await fails([slice, '--scale', 'thumb 20 1,1 2,2'], 2, 'begins with card, rectangle or ruler');
    await fails([slice, '--scale', 'rectangle 300 1,1 2,2 3,3 4,4'], 2, '--scale rectangle, mm');
  });

  test('a photo of less than 50 pixels, a point beside it, a file that is not there', async () => {
    const path = folder.file('tiny.png');
    await sharp({ create: { width: 49, height: 80, channels: 3, background: '#8a8f91' } })
      .png()
      .toFile(path);
    await fails([path, '--scale', 'ruler 100 5,5 40,5'], 1, 'the photograph is 49 × 80 pixels');
    await fails([slice, '--scale', 'ruler 100 5,5 4000,5'], 1, 'lies outside the photograph of 1120 × 900 pixels');
    await fails([folder.file('none.jpg'), '--scale', 'ruler 100 5,5 40,5'], 1, 'none.jpg: there is no such file');
    expect((await runCli(['slab', slice, '--scale', scale, '--out', 'outline.dxf'])).code).toBe(2);
  });

  test('a piece of another kind, a turn that is no quarter, a piece that cannot be read and stays as it is', async () => {
    await fails([slice, '--scale', scale, '--piece', 'piece.json'], 2, '--piece: must end with .foreburn');
    await fails([slice, '--scale', scale, '--turn', '45'], 2, '--turn: must be 90, 180 or 270');
    const broken = folder.file('broken.foreburn');
    await writeFile(broken, 'not a piece');
    const ran = await runCli(['slab', slice, '--scale', scale, '--piece', broken]);
    expect(ran.code).toBe(1);
    expect(ran.error).toContain('broken.foreburn');
    expect(await readFile(broken, 'utf8')).toBe('not a piece');
  });
});
