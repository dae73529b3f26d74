import { beforeAll, describe, expect, test } from 'vitest';
import { mmPerMinToMmPerS } from '../../src/base/units.ts';
import { createCoarsePipeline, SCENE_BINS } from '../../src/burn/coarse.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { unpackTiles } from '../../src/piece/tiles.ts';
import {
  ladderPowers,
  neededPlaces,
  placesBeyondDarks,
  proposeRescue,
  RESCUE_DEFAULTS,
  type RescueProposal,
  type RescueWishes,
} from '../../src/studies/rescue/propose.ts';
import { createRescueScene, type RescueTools, rescueTools } from '../../src/studies/rescue/rescue-scene.ts';
import { pictureOf, withHardyUndercoat, withPromptSource } from '../helpers/burn.ts';
import { cpuRunner } from '../helpers/cpu-runner.ts';
import { rowsPerInchToPitchMm } from '../helpers/textbook.ts';

/** A small piece burned once with too little power; left half white, right half all but black. */
function weakPiece(lightEndPower = 0.525): Piece {
  const piece = withHardyUndercoat(withPromptSource(createPiece('weak', 'weak.png')));
  const [pass] = piece.passes;
  return {
    ...piece,
    picture: { ...piece.picture, widthMm: 60, crop: 'rectangle' },
    heat: { ...piece.heat, carryOver: false },
    passes: [
      {
        ...pass,
        lightEndPower,
        darkEndPower: 0.1,
        feedMmPerS: mmPerMinToMmPerS(7000),
        rowPitchMm: rowsPerInchToPitchMm(300),
      },
    ],
  };
}
const photo = {
  key: 'half',
  castless: null,
  picture: pictureOf(160, 100, (x) => (x < 80 ? 1 : 0.0006)),
};

let tools: RescueTools;
/** What is proposed without any wishes. */
let plainly: Promise<RescueProposal> | null = null;
const proposePlainly = () => {
  plainly ??= propose(weakPiece());
  return plainly;
};
beforeAll(async () => {
  tools = rescueTools(createProofPipeline(), createCoarsePipeline(), await cpuRunner());
});
const propose = (piece: Piece, wishes: Partial<RescueWishes> = {}) =>
  proposeRescue(piece, photo, tools, { ...RESCUE_DEFAULTS, ...wishes }, () => {}, QUICK);
/** Enough for what is asked here. */
const QUICK = { draws: 32, judged: 12, searched: 6, last: 2, tiles: 96 };

describe('a rescue', { timeout: 120_000 }, () => {
  test('clears in as many draws as were asked for, and more surely with more power', async () => {
    const sure = await proposePlainly();
    const likely = await propose(weakPiece(), { odds: 0.5 });
    expect(sure.verdict).toBe('needed');
    expect(sure.before.clears).toBeLessThan(0.5);
    expect(sure.plan!.after.clears).toBeGreaterThanOrEqual(0.85);
    expect(likely.plan!.after.clears).toBeGreaterThanOrEqual(0.45);
    expect(likely.plan!.pass.lightEndPower).toBeLessThan(sure.plan!.pass.lightEndPower);
    expect(sure.plan!.piece.passes).toHaveLength(2);
    expect(sure.plan!.piece.passes[0]).toEqual(weakPiece().passes[0]);
  });

  test('its ladder is judged on as many draws as the pass itself, and does not contradict it', async () => {
    // No share of thirteen draws but none and all is one of six.
    const effort = { ...QUICK, judged: 13 };
    const wishes = { ...RESCUE_DEFAULTS, odds: 0.5 };
    const { pass, ladder, after } = (await proposeRescue(weakPiece(), photo, tools, wishes, () => {}, effort)).plan!;
    expect(ladder.some(({ clears }) => clears > 0.01 && clears < 0.99)).toBe(true);
    for (const { clears } of ladder) expect(13 * clears).toBeCloseTo(Math.round(13 * clears), 6);
    for (const { power, clears, scorches } of ladder) {
      if (power < pass.lightEndPower) continue;
      expect(clears).toBeGreaterThanOrEqual(after.clears - 0.1);
      expect(scorches).toBeGreaterThanOrEqual(after.scorches - 0.1);
    }
  });

  test('leaves the darks alone unless it is to open them', async () => {
    const { plan } = await proposePlainly();
    expect(plan!.pass.darkEndPower).toBe(0);
    expect(plan!.darkEnd.change).toBeLessThan(0.5);
    expect(plan!.darkEnd.harmless).toBeGreaterThan(0);
    expect(plan!.sparesDarks).toBe(false);
    const open = await propose(weakPiece(0.4), { darks: 'open' });
    expect(open.plan!.pass.darkEndPower).toBeGreaterThan(open.plan!.darkEnd.harmless);
    expect(open.plan!.darkEnd.change).toBeGreaterThan(plan!.darkEnd.change);
  });

  test('believes the maker: the words change the proposal and the piece', async () => {
    const marks = await propose(weakPiece(), { words: 'just-marks' });
    const dull = await propose(weakPiece(), { words: 'dull' });
    expect(marks.before.residueUm.middle).toBeGreaterThan(2 * dull.before.residueUm.middle);
    expect(marks.plan!.pass.lightEndPower).toBeGreaterThan(1.3 * dull.plan!.pass.lightEndPower);
    const topOf = (piece: Piece) => piece.stack.coats[0];
    expect(topOf(marks.plan!.piece).specificEnergyJPerMm3).toBeGreaterThan(
      topOf(dull.plan!.piece).specificEnergyJPerMm3,
    );
    // What the maker gave stays.
    expect(topOf(marks.plan!.piece).dryThicknessUm).toBe(topOf(weakPiece()).dryThicknessUm);
    expect(marks.plan!.piece.machine).toEqual(weakPiece().machine);
  });

  test('says so if no draw looks as the maker says', async () => {
    const { verdict, plan } = await propose(weakPiece(), { words: 'scorched' });
    expect(verdict).toBe('disagrees');
    expect(plan).toBeNull();
  });

  test('says what is scorched, and that nothing is left to clear', async () => {
    const [pass] = weakPiece(1).passes;
    const scorched = await propose({ ...weakPiece(), passes: [{ ...pass, feedMmPerS: mmPerMinToMmPerS(1800) }] });
    expect(scorched.scorchedAlready).toBe(true);
    expect(scorched.before.scorched.middle).toBeGreaterThan(0.005);
    expect(scorched.verdict).toBe('cleared');
  });

  test('burns only where residue is to be expected and tells what that saves', async () => {
    const plain = await proposePlainly();
    const some = await propose(weakPiece(), { onlyWhere: true });
    expect(plain.plan!.pass.only).toBeNull();
    const { only } = some.plan!.pass;
    expect(only).not.toBeNull();
    const tiles = unpackTiles(only!);
    // The left half is white; the right one has a dot here and there.
    expect(tiles[Math.floor(only!.columns / 6)]).toBe(255);
    expect(tiles[Math.floor(0.6 * only!.columns)]).toBe(0);
    expect(some.plan!.savedSeconds).toBeGreaterThan(5);
    expect(some.plan!.seconds).toBeCloseTo(plain.plan!.seconds - plain.plan!.savedSeconds, 3);
    const at = Math.floor(0.6 * some.plan!.map.width);
    expect(some.plan!.map.change[at]).toBe(0);
    expect(some.plan!.map.change[Math.floor(some.plan!.map.width / 6)]).toBeGreaterThan(10);
  });

  test('refuses what has no light areas or darkens', async () => {
    const dark = { key: 'dark', castless: null, picture: pictureOf(20, 20, () => 0) };
    await expect(proposeRescue(weakPiece(), dark, tools)).rejects.toThrow('no part of this picture is light');
    const bare = { ...weakPiece(), stack: { ...weakPiece().stack, coats: [] } };
    await expect(proposeRescue(bare, photo, tools)).rejects.toThrow('darkens');
  });
});

test('the places beyond the darks hold all that is lighter than a dark area', () => {
  const { columns, bytes, rows } = placesBeyondDarks(createRescueScene(weakPiece(), photo, tools));
  const tiles = unpackTiles({ columns, rows, bytes });
  expect(tiles[0]).toBe(255);
  expect(tiles[columns - 1]).toBe(0);
});

test('needed places grow by so many mm', () => {
  const scene = createRescueScene(weakPiece(), photo, tools);
  const odds = new Float64Array(SCENE_BINS).fill(1);
  const none = neededPlaces(scene, new Float64Array(SCENE_BINS), 3);
  expect(none.share).toBe(0);
  const bare = neededPlaces(scene, odds, 0);
  const grown = neededPlaces(scene, odds, 4);
  // The right half is left out; 4 mm of it come back at the border.
  const first = (places: typeof bare) => unpackTiles(places.only).subarray(0, places.only.columns).indexOf(0);
  expect(first(grown) - first(bare)).toBe(2);
});

test('a ladder starts below what shows, in round steps, and ends above the proposal', () => {
  expect(ladderPowers(0.2, 0.31)).toEqual([0.1, 0.15, 0.2, 0.25, 0.3, 0.35]);
  for (const [showing, proposed] of [
    [0.2, 0.31],
    [0.02, 0.05],
    [0.14, 0.28],
    [0.5, 0.98],
    [0.3, 0.32],
  ]) {
    const powers = ladderPowers(showing, proposed);
    expect(powers.length).toBeGreaterThanOrEqual(4);
    expect(powers.length).toBeLessThanOrEqual(7);
    expect(powers[0]).toBeLessThan(showing);
    expect(Math.max(...powers)).toBeGreaterThanOrEqual(Math.min(0.95, proposed));
  }
});
