import { beforeAll, describe, expect, test } from 'vitest';
import { labToLinearRgb } from '../../src/base/color/lab.ts';
import { encodeSrgbByte, srgbDecodingTable } from '../../src/base/color/srgb.ts';
import { applyHomography, fitHomography } from '../../src/base/geometry/homography.ts';
import type { Point } from '../../src/base/geometry/outline.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createFoundFilm, FOUND_AS_EXPECTED } from '../../src/physics/film/laid-film.ts';
import { createPiece, evenCoat, plainSlab } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { packTiles } from '../../src/piece/tiles.ts';
import { type BurnedPhoto, findCorners, readBurned } from '../../src/studies/rescue/read-burned.ts';
import { type RescueTools, rescueTools } from '../../src/studies/rescue/rescue-scene.ts';
import { burn, pictureOf } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

/** What the maker believes: even coats, plain wood. */
const base = createPiece('Reach', 'reach.jpg');
const believed: Piece = {
  ...base,
  slab: { ...plainSlab(base.slab), shape: 'rectangle', widthMm: 100, heightMm: 80 },
  stack: { ...base.stack, coats: base.stack.coats.map(evenCoat) },
  picture: { ...base.picture, widthMm: 80, crop: 'rectangle' },
  heat: { ...base.heat, carryOver: false },
  passes: [{ ...base.passes[0], lightEndPower: 0.62 }],
};
const photo = {
  key: 'light',
  castless: null,
  picture: pictureOf(160, 120, (x) => Math.min(0.95, 0.15 + (0.8 * x) / 60)),
};

/** What is true: a coat that takes a little more, and lies thicker within 8 mm of a place on the right. */
const SPOT = { xMm: 20, yMm: 5, radiusMm: 8, factor: 1.12 };
const factors = Uint8Array.from({ length: 50 * 40 }, (_, i) => {
  const distance = Math.hypot(-49 + 2 * (i % 50) - SPOT.xMm, -39 + 2 * Math.floor(i / 50) - SPOT.yMm);
  return Math.round(FOUND_AS_EXPECTED * (distance < SPOT.radiusMm ? SPOT.factor : 1));
});
const truth: Piece = {
  ...believed,
  stack: {
    coats: believed.stack.coats.map((coat, i) =>
      i === 0 ? { ...coat, specificEnergyJPerMm3: 1.15 * coat.specificEnergyJPerMm3 } : coat,
    ),
    cureHours: believed.stack.cureHours,
    film: {
      ...believed.stack.film,
      found: { xMm: -50, yMm: -40, pitchMm: 2, tiles: packTiles(50, 40, factors) },
    },
  },
};

let tools: RescueTools;
let picture: BurnedPhoto;
beforeAll(async () => {
  tools = rescueTools(createProofPipeline(), createCoarsePipeline(), await cpuRunner());
  picture = await photographOf(truth);
}, 60_000);

/** The burned slab on a table, from an angle, in uneven light, with noise. */
async function photographOf(piece: Piece, of = photo): Promise<BurnedPhoto> {
  const look = await burn(piece, of.picture, tools.runner);
  const { pitchMm } = look.proof.grid;
  const [width, height] = [400, 330];
  const corners: Point[] = [
    [42, 50],
    [350, 38],
    [372, 296],
    [25, 283],
  ];
  const toMm = fitHomography(corners, [
    [-50, -40],
    [50, -40],
    [50, 40],
    [-50, 40],
  ]);
  const linear = srgbDecodingTable(8);
  const coat = labToLinearRgb(piece.stack.coats[0].colorLab);
  /** A pixel of the camera sees three by three dots. */
  const dotsAround = (column: number, row: number, k: number) => {
    let sum = 0;
    for (let i = 0; i < 9; i++) {
      const x = Math.min(look.width - 1, Math.max(0, column - 1 + (i % 3)));
      const y = Math.min(look.height - 1, Math.max(0, row - 1 + Math.floor(i / 3)));
      sum += linear[look.color[4 * (y * look.width + x) + k]] / 9;
    }
    return sum;
  };
  const random = createGenerator(7);
  const rgba = new Uint8Array(4 * width * height).fill(255);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [u, v] = applyHomography(toMm, [x + 0.5, y + 0.5])!;
      const onSlab = Math.abs(u) < 50 && Math.abs(v) < 40;
      const column = Math.floor(u / pitchMm + look.width / 2);
      const row = Math.floor(v / pitchMm + look.height / 2);
      const inPicture = column >= 0 && row >= 0 && column < look.width && row < look.height;
      const light = 0.8 * (1 + 0.25 * (u / 50) - 0.15 * (v / 40)) * (1 + 0.02 * random.nextNormal());
      for (let k = 0; k < 3; k++) {
        const shown = inPicture ? dotsAround(column, row, k) : onSlab ? coat[k] : 0.4;
        rgba[4 * (y * width + x) + k] = encodeSrgbByte(Math.min(1, light * shown));
      }
    }
  }
  return { photo: { width, height, rgba }, corners };
}

describe('a photograph of the burned piece', { timeout: 120_000 }, () => {
  test('tells that the coat takes more, where its film is thicker, and makes the model agree', async () => {
    const reading = await readBurned(believed, photo, picture, tools, () => {}, 32);
    expect(reading.agrees).toBe(true);
    expect(reading.references).toBeGreaterThan(100);
    expect(reading.missAfter).toBeLessThan(0.5 * reading.missBefore);
    const correct = createFoundFilm(reading.piece.stack.film.found!);
    const around = (yMm: number) => {
      const film = new Float32Array(8).fill(1);
      correct({ originXMm: SPOT.xMm - 4, yMm, pitchMm: 1 }, film);
      return film.reduce((sum, value) => sum + value, 0) / 8;
    };
    // A photo tells the sum that a pass pays, not how much of it is film: a spot of 12 % may be told as half or twice that.
    expect(around(SPOT.yMm) - around(-20)).toBeGreaterThan(0.06);
    expect(around(SPOT.yMm) - around(-20)).toBeLessThan(0.24);
    // What the coat takes and how thick it lies come to the truth together.
    const takes = (piece: Piece) =>
      piece.stack.coats[0].thresholdJPerMm2 + (piece.stack.coats[0].specificEnergyJPerMm3 * 25) / 1000;
    expect(takes(reading.piece) / takes(truth)).toBeGreaterThan(0.94);
    expect(takes(reading.piece) / takes(truth)).toBeLessThan(1.06);
  });

  test('its corners are found within a millimetre, from nowhere and from where they were laid roughly', async () => {
    // A face before a wall: something to see in every part.
    const face = (x: number, y: number) => (Math.hypot(x - 70, 1.2 * (y - 60)) < 38 ? 0.9 - y / 200 : 0.3 + x / 400);
    const portrait = { ...photo, key: 'face', picture: pictureOf(160, 120, face) };
    const { photo: shot, corners } = await photographOf(truth, portrait);
    const worstMm = (found: readonly Point[]) =>
      Math.max(...found.map(([x, y], i) => Math.hypot(x - corners[i][0], y - corners[i][1]))) / 3.2;
    const found = await findCorners(believed, portrait, shot, tools);
    expect(worstMm(found!.corners)).toBeLessThan(1);
    const rough = corners.map(([x, y], i): Point => [x + [9, -8, 7, -9][i], y + [-7, 8, 9, -8][i]]);
    expect(worstMm((await findCorners(believed, portrait, shot, tools, rough))!.corners)).toBeLessThan(1);
    // A table without a slab on it.
    const random = createGenerator(3);
    const bare = shot.rgba.map((_, i) => (i % 4 === 3 ? 255 : 128 + 20 * random.nextNormal()));
    expect(await findCorners(believed, portrait, { ...shot, rgba: bare }, tools)).toBeNull();
  });

  test('changes next to nothing when the slab came out as believed', async () => {
    const asBelieved = await photographOf(believed);
    const reading = await readBurned(believed, photo, asBelieved, tools, () => {}, 32);
    expect(reading.missAfter).toBeLessThan(3);
    const correct = createFoundFilm(reading.piece.stack.film.found!);
    const film = new Float32Array(60).fill(1);
    correct({ originXMm: -25, yMm: 5, pitchMm: 1 }, film);
    expect(Math.abs(film.reduce((sum, value) => sum + value, 0) / 60 - 1)).toBeLessThan(0.04);
  });

  test('a photograph that no such piece can look like changes nothing, and both pictures are there', async () => {
    // Light and dark changed places: somebody else's slab.
    const { photo: shot, corners } = await photographOf(truth);
    const stripes = shot.rgba.map((value, i) =>
      i % 4 === 3 ? 255 : Math.floor((i >> 2) / shot.width / 9) % 2 === 0 ? 40 + 0.2 * value : value,
    );
    const reading = await readBurned(
      believed,
      photo,
      { photo: { ...shot, rgba: stripes }, corners },
      tools,
      () => {},
      16,
    );
    expect(reading.agrees).toBe(false);
    expect(reading.missAfter).toBeGreaterThan(6);
    expect(reading.piece).toBe(believed);
    const compared = reading.seenL.filter((value) => value >= 0).length;
    expect(compared).toBe(reading.tiles);
    expect(reading.modelL.filter((value) => value >= 0).length).toBe(compared);
  });

  test('refuses corners that cross and photos without unburned coat', async () => {
    const [a, b, c, d] = picture.corners;
    const crossed = readBurned(believed, photo, { ...picture, corners: [a, c, b, d] }, tools, () => {}, 1);
    await expect(crossed).rejects.toThrow('cross');
    const full = { ...believed, picture: { ...believed.picture, widthMm: 130 } };
    await expect(readBurned(full, photo, picture, tools, () => {}, 1)).rejects.toThrow(
      'too little of the unburned coat',
    );
  });
});
