import { beforeAll, describe, expect, test } from 'vitest';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import { createProofPipeline, type ProofPipeline } from '../../src/burn/proof.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import { checkPiece } from '../../src/piece/file.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { type RescueTools, rescueTools } from '../../src/studies/rescue/rescue-scene.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';
import { learnFromStrip, proveStrip } from '../../src/studies/test-strip/learn-from-strip.ts';
import { makeStrip } from '../../src/studies/test-strip/make-strip.ts';
import { bandsOf, type StripOrder } from '../../src/studies/test-strip/strip-piece.ts';
import { pictureOf } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';

const meanOf = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

const deviation = (values: readonly number[]): number =>
  Math.sqrt(meanOf(values.map((value) => (value - meanOf(values)) ** 2)));

const plain = createPiece('Reach', 'reach.jpg');
const piece: Piece = {
  ...plain,
  picture: { ...plain.picture, widthMm: 40, crop: 'rectangle' },
  passes: [{ ...plain.passes[0], rowPitchMm: 0.2, feedMmPerS: 60 }],
  machine: { ...plain.machine, source: { ...plain.machine.source, spotAcrossMm: 0.2, spotAlongMm: 0.2 } },
  heat: { ...plain.heat, carryOver: false },
};
/** Left half white, right half black. */
const photo = { key: 'halves', castless: null, picture: pictureOf(80, 60, (x) => (x < 40 ? 1 : 0)) };
const order: StripOrder = {
  crop: { xMm: 14, yMm: 5, widthMm: 12, heightMm: 6 },
  vary: 'power',
  from: 0.4,
  to: 1,
  bands: 4,
};

let runner: SwathRunner;
let pipeline: ProofPipeline;
let tools: RescueTools;
beforeAll(async () => {
  runner = await cpuRunner();
  pipeline = createProofPipeline();
  tools = rescueTools(pipeline, createCoarsePipeline(), runner);
});

describe('bands', () => {
  test('bring more light from one to the next: power rises, feed falls', () => {
    expect(bandsOf({ vary: 'power', from: 0.8, to: 0.2, bands: 4 }).map(({ value }) => value)).toEqual([
      0.2, 0.4, 0.6, 0.8,
    ]);
    const feeds = bandsOf({ vary: 'feed', from: 50, to: 150, bands: 3 }).map(({ value }) => value);
    expect(feeds[0]).toBeCloseTo(150, 5);
    expect(feeds[2]).toBeCloseTo(50, 5);
  });

  test('are three to nine, all different', () => {
    expect(() => bandsOf({ ...order, bands: 2 })).toThrow('3 to 9 bands');
    expect(() => bandsOf({ ...order, bands: 10 })).toThrow('3 to 9 bands');
    expect(() => bandsOf({ ...order, from: 0.5, to: 0.5 })).toThrow('too close together');
  });
});

describe('a test strip', { timeout: 120_000 }, () => {
  test('is a valid piece with a pass for the labels and one for each band', () => {
    const strip = makeStrip(piece, photo, order);
    expect(checkPiece(strip.piece)).toEqual(strip.piece);
    expect(strip.piece.passes.map((pass) => pass.lightEndPower)).toEqual([0.85, 0.4, 0.6, 0.8, 1]);
    expect(strip.piece.stack.coats).toEqual(piece.stack.coats);
    expect(strip.piece.machine).toEqual(piece.machine);
    const { widthMm, heightMm } = strip.layout;
    expect([strip.piece.slab.widthMm, strip.piece.slab.heightMm]).toEqual([widthMm, heightMm]);
    expect(strip.picture.width).toBe(Math.round(widthMm / 0.2));
    expect(strip.picture.height).toBe(Math.round(heightMm / 0.2));
  });

  test('each band burns its own part and no other, with more and more cleared', async () => {
    const strip = makeStrip(piece, photo, order);
    const proof = await proveStrip(strip, pipeline, runner);
    const uncleared = proof.bands.map((band) => band.uncleared ?? -1);
    expect(uncleared[0]).toBeGreaterThan(0.5);
    // Dots beside the dark half get less light from their neighbours.
    expect(uncleared[3]).toBeLessThan(0.15);
    for (let i = 1; i < 4; i++) expect(uncleared[i]).toBeLessThanOrEqual(uncleared[i - 1]);
    // Band by band the same as a strip with only that power: bands do not burn into one another.
    const alone = { ...strip, piece: { ...strip.piece, passes: [strip.piece.passes[2]] } };
    const second = await proveStrip(alone, pipeline, runner);
    expect(second.bands[1].residueUm).toBeCloseTo(proof.bands[1].residueUm!, 1);
    expect(second.bands[0].residueUm).toBeNull();
  });

  test('a strip of a second pass burns the first over all bands', () => {
    const twice = { ...piece, passes: [piece.passes[0], { ...piece.passes[0], lightEndPower: 0.3, darkEndPower: 0 }] };
    const strip = makeStrip(twice, photo, { ...order, from: 0.1, to: 0.4 });
    expect(strip.piece.passes.map((pass) => pass.lightEndPower)).toEqual([0.85, 0.85, 0.1, 0.2, 0.3, 0.4]);
    expect(() => makeStrip({ ...piece, passes: Array(8).fill(piece.passes[0]) }, photo, order)).not.toThrow();
    expect(() => makeStrip({ ...piece, passes: Array(9).fill(piece.passes[0]) }, photo, order)).toThrow(
      'at most 3 bands',
    );
  });

  test('refuses crops beside the picture and strips that get too long', () => {
    const at = (crop: Partial<StripOrder['crop']>) => ({ ...order, crop: { ...order.crop, ...crop } });
    expect(() => makeStrip(piece, photo, at({ xMm: 60 }))).toThrow('must lie in the picture of 40 × 30 mm');
    expect(() => makeStrip(piece, photo, at({ widthMm: 1 }))).toThrow('3 mm or larger');
    expect(() => makeStrip(piece, photo, { ...at({ heightMm: 100 }), bands: 6 })).toThrow('512 mm is the most');
  });
});

describe('what a strip tells', { timeout: 120_000 }, () => {
  const need = (of: Piece) => {
    const [top] = of.stack.coats;
    return (
      (top.thresholdJPerMm2 + (top.specificEnergyJPerMm3 * top.dryThicknessUm) / 1000) / of.machine.source.fullPowerW
    );
  };
  const spread = (of: Piece) =>
    deviation(Array.from({ length: 200 }, (_, draw) => Math.log(need(drawPiece(of, draw)))));
  const learn = (clears: number | null, scorches?: number | null) =>
    learnFromStrip(piece, photo, order, { clears, scorches }, tools, () => {}, 24);

  test('a later band that clears speaks for a coat that takes more, and narrows what is open', async () => {
    const [early, late] = [await learn(2), await learn(4)];
    for (const lesson of [early, late]) expect(lesson.agrees).toBe(true);
    expect(need(early.piece)).toBeLessThan(need(late.piece));
    expect(early.piece.certainty.source).toBe('calibrated');
    // Bands a third apart leave about a tenth open; the presets leave a fifth.
    expect(spread(early.piece)).toBeLessThan(0.8 * spread(piece));
    expect(spread(early.piece)).toBeGreaterThan(0.03);
    expect(early.piece.machine).toEqual(piece.machine);
  });

  test('an answer that no such paint gives teaches nothing', async () => {
    const lesson = await learn(4, 1);
    expect(lesson).toMatchObject({ agrees: false, piece });
    await expect(learn(5)).rejects.toThrow('bands 1 to 4');
  });
});
