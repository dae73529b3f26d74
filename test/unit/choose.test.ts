import { beforeAll, describe, expect, test } from 'vitest';
import { normalQuantile, normalShareBelow } from '../../src/base/normal.ts';
import { createCoarsePipeline } from '../../src/burn/coarse.ts';
import type { SwathRunner } from '../../src/burn/runner.ts';
import { createMonotoneCurve } from '../../src/image/tone.ts';
import { buildAppearance } from '../../src/physics/material/appearance.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Pass, Piece } from '../../src/piece/schema.ts';
import { check, choose, paretoFront, pickTradeOffs, spreadPicks } from '../../src/studies/choose/choose.ts';
import { evaluate } from '../../src/studies/choose/look.ts';
import {
  burnedShares,
  burnedSharesOf,
  clearingWatts,
  columnOf,
  costOf,
  crossingZ,
  EVEN_WISHES,
  hardnessesOf,
  hardPiece,
  lightFloor,
  type Outcome,
  raisedCurve,
  scorchingWatts,
  violationOf,
} from '../../src/studies/choose/odds.ts';
import { screenGrain } from '../../src/studies/choose/search.ts';
import {
  obstacleOf,
  obstacleWords,
  passAt,
  placeOf,
  settingsSpace,
  whyOf,
  withSettings,
} from '../../src/studies/choose/settings.ts';
import { createTrials } from '../../src/studies/choose/trials.ts';
import { drawPiece } from '../../src/studies/sure/spread.ts';
import { burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { diagnosed } from '../helpers/diagnose.ts';

const outcome = (part: Partial<Outcome> = {}): Outcome => ({
  minutes: 60,
  qualityLossL: 3,
  toneErrorL: 2,
  grainL: 1,
  detailL: 2,
  unclearedShare: 0,
  scorchedShare: 0,
  clearsZ: 2.5,
  unscorchedZ: 2.5,
  ...part,
});

describe('what is better', () => {
  test('what breaks a limit comes after all that keeps them; less of each loss is better', () => {
    const cost = (part: Partial<Outcome>) => costOf(outcome(part), EVEN_WISHES);
    expect(cost({ clearsZ: 1.5 })).toBeGreaterThan(cost({ minutes: 600, qualityLossL: 20 }));
    expect(cost({ minutes: 50 })).toBeLessThan(cost({}));
    expect(cost({ qualityLossL: 2 })).toBeLessThan(cost({}));
    expect(cost({ clearsZ: 2.6, unscorchedZ: 2.6 })).toBeLessThan(cost({}));
    expect(violationOf({ clearsZ: null, unscorchedZ: 2 })).toBe(0);
  });

  test('the front holds what nothing else beats, and picks lie apart', () => {
    const items = [
      [1, 5],
      [2, 3],
      [2, 4],
      [3, 3.5],
      [4, 1],
    ];
    const front = paretoFront(
      items,
      ([a]) => a,
      ([, b]) => b,
    );
    expect(front).toEqual([
      [1, 5],
      [2, 3],
      [4, 1],
    ]);
    expect(spreadPicks(front, [([a]) => a, ([, b]) => b], 2, [front[0]])).toEqual([front[0], front[2]]);
    expect(spreadPicks(front, [([a]) => a / 100, ([, b]) => b / 100], 3, [front[0]])).toEqual([front[0]]);
  });

  test('a handful of trade-offs: the quickest, the finest and the best are among them', () => {
    const items = Array.from({ length: 20 }, (_, i) => ({
      outcome: outcome({ minutes: 40 + 10 * i, qualityLossL: 2 + 60 / (i + 5) }),
    }));
    const picks = pickTradeOffs([...items, { outcome: outcome({ minutes: 1, clearsZ: 1 }) }], EVEN_WISHES);
    expect(picks.length).toBeGreaterThan(1);
    expect(picks.length).toBeLessThan(5);
    expect(picks.filter(({ role }) => role === 'best')).toHaveLength(1);
    expect(Math.min(...picks.map(({ item }) => item.outcome.minutes))).toBeGreaterThanOrEqual(40);
    const minutes = picks.map(({ item }) => item.outcome.minutes);
    expect(minutes).toEqual([...minutes].sort((a, b) => a - b));
  });

  test('says why nothing works', () => {
    expect(obstacleOf([outcome()], 2, true)).toBe('coats-alike');
    expect(obstacleOf([outcome({ unclearedShare: 0.4, clearsZ: -1 })], 50, true)).toBe('too-weak');
    expect(obstacleOf([outcome({ scorchedShare: 0.1, unscorchedZ: -1 })], 50, true)).toBe('scorches');
    expect(obstacleOf([outcome({ clearsZ: 1 })], 50, true)).toBe('unsure');
    expect(obstacleOf([outcome()], 50, true)).toBeNull();
    expect(obstacleOf([outcome({ clearsZ: null, toneErrorL: 30 })], 50, false)).toBe('no-mark');
    const piece = createPiece('', '');
    expect(obstacleWords('too-weak', piece)).toMatch(/^Even full power .*\.$/);
    expect(obstacleWords('unsure', piece)).toContain('Burn a test card and calibrate, or');
    const calibrated: Piece = { ...piece, certainty: { ...piece.certainty, source: 'calibrated' } };
    expect(obstacleWords('unsure', calibrated)).toContain('Burn another card');
    expect(whyOf({ role: 'quickest', limits: ['full-power'] })).toBe(
      'The quickest that keeps the limits; the source gives no more.',
    );
  });
});

describe('parts of the model', () => {
  test('normal shares against published tables: 1.645, 1.960, 2.576 (values from memory)', () => {
    for (const [z, share] of [
      [1.6449, 0.95],
      [1.96, 0.975],
      [2.5758, 0.995],
      [-1.2816, 0.1],
    ]) {
      expect(normalShareBelow(z)).toBeCloseTo(share, 4);
      expect(normalQuantile(share)).toBeCloseTo(z, 3);
    }
  });

  test('where a share passes its limit', () => {
    // A share that is a normal distribution of z itself passes 5 % at -1.645 from its middle.
    const at = (z: number) => normalShareBelow(z - 3);
    expect(crossingZ(at(0), at(1.9), 1.9, 0.05, 2)).toBeCloseTo(3 - 1.645, 2);
    // With nothing to tell the slope: a share of 5 % right where it was tried.
    expect(crossingZ(0, 0.05, 1.9, 0.05, 2)).toBeCloseTo(1.9, 2);
    expect(crossingZ(0, normalShareBelow(-0.645), 1.9, 0.05, 2)).toBeCloseTo(1.4, 2);
    expect(crossingZ(0, 0, 1.9, 0.05, 2)).toBeGreaterThan(2.5);
    expect(crossingZ(1, 1, 1.9, 0.05, 2)).toBeLessThan(-2);
  });

  test('what is light in the photograph stays a light area', () => {
    const sunk = raisedCurve(
      [
        [0, 0],
        [0.5, 0.4],
        [0.9, 0.6],
        [0.95, 0.7],
        [1, 1],
      ],
      0,
    );
    const read = createMonotoneCurve(sunk);
    for (const tone of [0.9, 0.93, 0.97, 1]) expect(read(tone)).toBeGreaterThan(0.895);
    expect(read(0.5)).toBeCloseTo(0.4, 2);
    expect(lightFloor(0.5, 0)).toBe(0);
    expect(lightFloor(0.9, 1)).toBe(1);
    expect(lightFloor(0.95, 0.5)).toBeCloseTo(0.975, 9);
    for (let i = 1; i < sunk.length; i++) expect(sunk[i][1]).toBeGreaterThanOrEqual(sunk[i - 1][1]);
  });

  test('grain: none in continuous tone, less the more it is blurred, most in clustered dots', () => {
    expect(screenGrain('continuous', 1)).toBe(0);
    expect(screenGrain('stucki', 1.5)).toBeLessThan(screenGrain('stucki', 0.75));
    // Without any blur a half-covered patch has a standard deviation of a half at most.
    expect(screenGrain('floyd-steinberg', 0)).toBeLessThan(0.5);
    expect(screenGrain('floyd-steinberg', 0)).toBeGreaterThan(0.35);
    expect(screenGrain('clustered-dot', 1.5)).toBeGreaterThan(2 * screenGrain('blue-noise', 1.5));
  });

  test('settings: a place and back, within the machine, at powers that can be set', () => {
    const piece = createPiece('', '');
    const space = settingsSpace(piece, { areaMm2: 40000, films: [0.9, 1, 1.1] }, () => 0);
    const place = { at: [0.5, 0.6, 0.4, 0.3, 0.5, 0], kind: 1 };
    const pass = passAt(space, place);
    const back = placeOf(space, pass);
    for (const [i, value] of back.at.entries()) expect(Math.abs(value - place.at[i])).toBeLessThan(0.06);
    expect(back.kind).toBe(1);
    for (const at of [
      [0, 0, 0, 0, 0, 0],
      [1, 1, 1, 1, 1, 1],
    ]) {
      const { feedMmPerS, lightEndPower, darkEndPower } = passAt(space, { at, kind: 0 });
      expect(feedMmPerS).toBeLessThanOrEqual(piece.machine.motion.maxFeedMmPerS);
      expect(lightEndPower).toBeLessThanOrEqual(1);
      expect(darkEndPower).toBeLessThanOrEqual(lightEndPower);
    }
    const applied = withSettings({ ...piece, passes: [pass, pass] }, pass, [
      [0, 0],
      [1, 1],
    ]);
    expect(applied.passes).toEqual([pass]);
    expect(applied.picture.tone).toMatchObject({
      gamma: 1,
      curve: [
        [0, 0],
        [1, 1],
      ],
    });
  });
});

describe('on burned patches', () => {
  let runner: SwathRunner;
  beforeAll(async () => {
    runner = await cpuRunner();
  });
  const picture = pictureOf(120, 90, (x, y) => (y < 45 ? 0.95 : 0.02 + (0.9 * x) / 120));
  const photo = { key: 'half-light', picture, castless: null };
  const small = (pass: Partial<Pass> = {}): Piece => {
    const piece = plainPiece(200, { screen: 'stucki', rowPitchMm: 0.1, feedMmPerS: 100, ...pass });
    return piece;
  };
  const benchOf = (piece: Piece) =>
    createTrials(
      piece,
      createCoarsePipeline().scene(piece, photo),
      buildAppearance(piece.stack, piece.slab.wood),
      runner,
    );

  test('the column clears and scorches where the burned picture does', async () => {
    const piece = flatFilm(small({ screen: 'continuous' }));
    const column = columnOf(piece, piece.passes[0], 1, 0);
    const clears = clearingWatts(column) / piece.machine.source.fullPowerW;
    const scorches = scorchingWatts(column, piece) / piece.machine.source.fullPowerW;
    const light = pictureOf(60, 40, () => 1);
    const at = async (power: number) => {
      const { proof } = await burn({ ...piece, passes: [{ ...piece.passes[0], lightEndPower: power }] }, light, runner);
      return proof.summary;
    };
    expect((await at(0.96 * clears)).unclearedShare).toBeGreaterThan(0.9);
    expect((await at(1.04 * clears)).unclearedShare).toBeLessThan(0.15);
    expect((await at(Math.min(1, 0.96 * scorches))).scorchedShare).toBeLessThan(0.1);
    if (scorches < 0.95) expect((await at(1.04 * scorches)).scorchedShare).toBeGreaterThan(0.8);
  });

  test('odds by two burned pieces agree with many drawn ones', async () => {
    const piece = small({ lightEndPower: 0.84 });
    const bench = benchOf(piece);
    const [pass] = piece.passes;
    const found = await evaluate(bench, pass);
    const shares = burnedShares(bench, (tone) => tone);
    let cleared = 0;
    for (let draw = 0; draw < 60; draw++) {
      const { uncleared } = await burnedSharesOf(bench, drawPiece(piece, draw), pass, [], shares);
      if (uncleared < 0.05) cleared++;
    }
    // Four standard errors of 60 draws are a fifth.
    expect(Math.abs(normalShareBelow(found.clearsZ ?? 9) - cleared / 60)).toBeLessThan(0.2);
  });

  test('a harder piece takes just so much more power, in the likeliest way', () => {
    const piece = small();
    const [pass] = piece.passes;
    const { clearing, scorching } = hardnessesOf(piece, pass, 0);
    const needed = (of: Piece) => clearingWatts(columnOf(of, pass, 1, 0)) / of.machine.source.fullPowerW;
    const harder = Math.log(needed(hardPiece(piece, clearing, 1)) / needed(piece));
    expect(Math.abs(harder - clearing.deviation)).toBeLessThan(0.1 * clearing.deviation);
    const scorched = (of: Piece) => scorchingWatts(columnOf(of, pass, 1, 0), of) / of.machine.source.fullPowerW;
    const sooner = Math.log(scorched(piece) / scorched(hardPiece(piece, scorching, -1)));
    expect(Math.abs(sooner - scorching.deviation)).toBeLessThan(0.1 * scorching.deviation);
    // What scorches hangs on the onset of the coat below besides, of which what clears knows nothing.
    expect(scorching.deviation).toBeGreaterThan(1.1 * clearing.deviation);
    const known: Piece = {
      ...piece,
      certainty: { ...piece.certainty, threshold: 0, specificEnergy: 0, thickness: 0, power: 0 },
    };
    expect(hardPiece(known, hardnessesOf(known, pass, 0).clearing, 2)).toEqual(known);
    expect(hardPiece(known, hardnessesOf(known, pass, 0).scorching, -2)).toEqual(known);
  });

  const chosen = (piece: Piece, budget = 40, most = 1) =>
    choose(
      {
        piece,
        scene: createCoarsePipeline().scene(piece, photo),
        appearance: buildAppearance(piece.stack, piece.slab.wood),
        wishes: EVEN_WISHES,
        budget,
        most,
      },
      runner,
    );

  test('finds settings from weak ones, and they hold on the picture itself', async () => {
    const piece = small({ lightEndPower: 0.5 });
    const scene = createCoarsePipeline().scene(piece, photo);
    const result = await check({ piece, photo, scene }, await chosen(piece), runner);
    expect(result.obstacle).toBeNull();
    expect(result.suggestions.length).toBeGreaterThan(0);
    for (const { pass, checked, odds, curve } of result.suggestions) {
      expect(checked?.unclearedShare).toBeLessThan(0.05);
      expect(checked?.scorchedShare).toBeLessThan(0.005);
      expect(odds?.clears).toBeGreaterThanOrEqual(0.95);
      expect(odds?.unscorched).toBeGreaterThanOrEqual(0.95);
      expect(curve?.length).toBeGreaterThan(8);
      // Power was put right after tones had been fitted to another: what is said of them is what a diagnosis will say.
      const { diagnosis } = await diagnosed(withSettings(piece, pass, curve), picture, runner);
      expect(Math.abs((checked?.toneErrorL ?? 99) - diagnosis.metrics.toneError.rms)).toBeLessThan(2);
    }
  });

  test('too thick a coat under too weak a source: says so and names what comes nearest', async () => {
    const piece = small();
    const [top, under] = piece.stack.coats;
    const thick: Piece = {
      ...piece,
      stack: { ...piece.stack, coats: [{ ...top, dryThicknessUm: 400 }, under] },
      machine: { ...piece.machine, source: { ...piece.machine.source, fullPowerW: 0.4 } },
    };
    const result = await chosen(thick, 24);
    expect(result).toMatchObject({ suggestions: [], obstacle: 'too-weak', final: true });
    expect(result.nearest).not.toBeNull();
  });

  test('an undercoat that scorches at once', async () => {
    const piece = small();
    const [top, under] = piece.stack.coats;
    const tender = { ...under, scorchOnsetJPerMm2: 0.0005, absorptance: 0.6 };
    const result = await chosen({ ...piece, stack: { ...piece.stack, coats: [top, tender] } }, 24);
    expect(result).toMatchObject({ suggestions: [], obstacle: 'scorches' });
  });

  test('bare wood: the dark end burns, nothing is to be cleared', async () => {
    const piece = small();
    const result = await chosen({ ...piece, stack: { ...piece.stack, coats: [] } }, 24);
    expect(result.lightens).toBe(false);
    expect(result.obstacle).toBeNull();
    const [{ pass, odds }] = result.suggestions;
    expect(pass.darkEndPower).toBeGreaterThan(pass.lightEndPower);
    expect(odds).toMatchObject({ clears: null, unscorched: 1 });
  });
});
