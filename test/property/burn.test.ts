import { describe, expect, test } from 'vitest';
import { createGenerator } from '../../src/base/random/generator.ts';
import { degToRad } from '../../src/base/units.ts';
import { createProofPipeline } from '../../src/burn/proof.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import type { Picture } from '../../src/image/picture.ts';
import { lineDose } from '../../src/physics/beam/gaussian.ts';
import { dwellFactor } from '../../src/physics/material/layers.ts';
import { fullRunUpMm } from '../../src/physics/raster/pass-raster.ts';
import type { Machine, Pass, Piece } from '../../src/piece/schema.ts';
import { type BurnedFields, burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { largestDifference, mirrored, transposed, turnedHalf, turnedLeft, withPlane } from '../helpers/planes.ts';
import { recordingBurn } from '../helpers/recording-burn.ts';
import { burnByReference } from '../helpers/reference-burn.ts';
import { lineMarkWidthMm, rasterDose } from '../helpers/textbook.ts';

const withSource = (piece: Piece, source: Partial<Machine['source']>): Piece => ({
  ...piece,
  machine: { ...piece.machine, source: { ...piece.machine.source, ...source } },
});
const withMotion = (piece: Piece, motion: Partial<Machine['motion']>): Piece => ({
  ...piece,
  machine: { ...piece.machine, motion: { ...piece.machine.motion, ...motion } },
});
/** A source that follows its command at once. */
const instant = (piece: Piece): Piece => withSource(piece, { riseTimeS: 0, fallTimeS: 0 });
/** A machine that is up to speed before the picture begins. */
const longRunUp = (piece: Piece): Piece => withMotion(piece, { runUpMm: 500 });

/** A photograph with soft and hard places. */
function photo(width: number, height: number, seed: number): Picture {
  const random = createGenerator(seed);
  return pictureOf(width, height, (x) => (x % 7 < 3 ? random.nextUnit() : 0.2 + 0.6 * random.nextUnit() ** 2));
}

/** All planes of a burn that must agree. */
const planes = (fields: BurnedFields): Float32Array[] => [...fields.residueUm, fields.woodDepthUm, fields.excess];

/**
 * Line profiles and weights along the row are the same from both sides up to the last bit of double precision; stored in single
 * precision and multiplied by 1000 A/q, that last bit may become 1e-5 µm.
 */
const LAST_BIT = 1e-4;

function expectSame(actual: readonly Float32Array[], expected: readonly Float32Array[], tolerance = LAST_BIT): void {
  expect(actual).toHaveLength(expected.length);
  actual.forEach((plane, i) => {
    expect(largestDifference(plane, expected[i])).toBeLessThanOrEqual(tolerance);
  });
}

describe('a flat photo on a flat film burns flat', () => {
  test.each([0.3, 0.6, 1])('at a luminance of %f', async (luminance) => {
    const piece = flatFilm(longRunUp(plainPiece(30)));
    const fields = await burn(
      piece,
      pictureOf(30, 24, () => luminance),
    );
    for (const plane of planes(fields)) {
      const inner: number[] = [];
      for (let y = 6; y < 18; y++) for (let x = 8; x < 22; x++) inner.push(plane[y * 30 + x]);
      expect(Math.max(...inner) - Math.min(...inner)).toBeLessThanOrEqual(LAST_BIT);
    }
  });

  test('and a black one at no power leaves everything', async () => {
    const piece = flatFilm(plainPiece(20, { darkEndPower: 0 }));
    const fields = await burn(
      piece,
      pictureOf(20, 10, () => 0),
    );
    expect(new Set(fields.residueUm[0])).toEqual(new Set([25]));
    expect(new Set(fields.residueUm[1])).toEqual(new Set([50]));
    expect(new Set(fields.excess)).toEqual(new Set([0]));
    expect(fields.proof.summary).toMatchObject({ burnTimeS: 0, rows: 0, maxDepthUm: 0 });
  });
});

/**
 * Fine cells that lie the same way seen from any side. The product's own are fewer and have a handedness: what comes of it is
 * measured in test/unit/sampling.test.ts.
 */
const evenHanded = createProofPipeline({ subCells: () => ({ subX: 5, subY: 5 }) });
const burnEvenly = (piece: Piece, picture: Picture) =>
  burn(piece, picture, createInlineRunner(burnByReference), evenHanded);

describe('a mirrored photo burns to the mirrored result', () => {
  test('with one-way rows, a source without delay and a flat film', async () => {
    const piece = flatFilm(instant(longRunUp(plainPiece(33, { rows: 'one-way' }))));
    const picture = photo(33, 21, 1);
    const straight = await burnEvenly(piece, picture);
    const other = await burnEvenly(piece, withPlane(mirrored(picture.luminance, 33), 33));
    expectSame(
      planes(other),
      planes(straight).map((plane) => mirrored(plane, 33)),
    );
    expect(straight.proof.summary.maxDepthUm).toBeGreaterThan(10);
  });

  test('but not with a source that is late', async () => {
    const late = (piece: Piece) => withSource(piece, { riseTimeS: 0.002, fallTimeS: 0.002 });
    const piece = flatFilm(late(longRunUp(plainPiece(33, { rows: 'one-way' }))));
    const picture = photo(33, 21, 1);
    const straight = await burnEvenly(piece, picture);
    const other = await burnEvenly(piece, withPlane(mirrored(picture.luminance, 33), 33));
    expect(largestDifference(other.residueUm[0], mirrored(straight.residueUm[0], 33))).toBeGreaterThan(1);
  });
});

describe('turned rows', () => {
  /** Everything that knows a direction: two-way rows that miss, a late source, short run-ups, error diffusion. */
  const directed = (pass: Partial<Pass>, dots: number): Piece =>
    flatFilm(
      withSource(
        withMotion(plainPiece(dots, { screen: 'floyd-steinberg', rowOffsetErrorMm: 0.13, ...pass }), { runUpMm: 1 }),
        {
          riseTimeS: 0.0004,
          fallTimeS: 0.0007,
          spotAlongMm: 0.09,
          spotAcrossMm: 0.09,
        },
      ),
    );

  test('heading 180° of a photo is heading 0 of the photo turned by half, turned back', async () => {
    const picture = photo(29, 23, 2);
    const turned = await burnEvenly(directed({ headingRad: Math.PI }, 29), picture);
    const straight = await burnEvenly(directed({}, 29), withPlane(turnedHalf(picture.luminance), 29));
    expectSame(planes(turned), planes(straight).map(turnedHalf));
  });

  test('so for a photo that looks the same turned by half, heading 180° is heading 0 turned by half', async () => {
    const half = photo(29, 22, 3).luminance;
    const even = withPlane(
      half.map((value, i) => (value + half[half.length - 1 - i]) / 2),
      29,
    );
    const turned = await burnEvenly(directed({ headingRad: Math.PI, rows: 'one-way' }, 29), even);
    const straight = await burnEvenly(directed({ rows: 'one-way' }, 29), even);
    expectSame(planes(turned), planes(straight).map(turnedHalf));
    // And it is not heading 0 itself: rows run the other way.
    expect(largestDifference(turned.residueUm[0], straight.residueUm[0])).toBeGreaterThan(0.1);
  });

  test.each([90, 270])('heading %d° of a photo turned by as much is heading 0 turned by as much', async (degrees) => {
    const picture = photo(28, 19, 4);
    const turn = (plane: Float32Array, width: number): Float32Array =>
      degrees === 90 ? turnedLeft(plane, width) : turnedHalf(turnedLeft(plane, width));
    const straight = await burnEvenly(directed({}, 28), picture);
    const turned = await burnEvenly(
      directed({ headingRad: degToRad(degrees) }, 19),
      withPlane(turn(picture.luminance, 28), 19),
    );
    expectSame(
      planes(turned),
      planes(straight).map((plane) => turn(plane, 28)),
    );
  });

  test('heading 90° of a transposed photo is heading 0 transposed, if nothing knows left from right along a row', async () => {
    const plain = (pass: Partial<Pass>, dots: number) =>
      flatFilm(instant(longRunUp(plainPiece(dots, { rows: 'one-way', ...pass }))));
    const picture = photo(28, 19, 5);
    const straight = await burnEvenly(plain({}, 28), picture);
    const turned = await burnEvenly(
      plain({ headingRad: Math.PI / 2 }, 19),
      withPlane(transposed(picture.luminance, 28), 19),
    );
    expectSame(
      planes(turned),
      planes(straight).map((plane) => transposed(plane, 28)),
    );
  });

  test('an elliptical spot stays where it is while the rows turn', async () => {
    const spot = (piece: Piece, spotAlongMm: number, spotAcrossMm: number) =>
      flatFilm(instant(longRunUp(withSource(piece, { spotAlongMm, spotAcrossMm }))));
    const picture = photo(28, 19, 6);
    const straight = await burnEvenly(spot(plainPiece(28, { rows: 'one-way' }), 0.05, 0.12), picture);
    const turned = await burnEvenly(
      spot(plainPiece(19, { rows: 'one-way', headingRad: Math.PI / 2 }), 0.12, 0.05),
      withPlane(transposed(picture.luminance, 28), 19),
    );
    expectSame(
      planes(turned),
      planes(straight).map((plane) => transposed(plane, 28)),
    );
  });

  test('any heading burns an even photo evenly and to the same depth', async () => {
    // Rows that do not lie on the cells' own grid are sampled at 3 fine cells a pitch instead of its phases: the mean of a bite over
    // the ripple of ±1.4 % stays, single cells scatter by less than that share of the bite.
    const even = pictureOf(40, 40, () => 0.1);
    const mean = async (degrees: number) => {
      const piece = flatFilm(longRunUp(plainPiece(40, { headingRad: degToRad(degrees) })));
      const { residueUm } = await burn(piece, even);
      let sum = 0;
      for (let y = 14; y < 26; y++) for (let x = 14; x < 26; x++) sum += residueUm[0][y * 40 + x] / 144;
      return sum;
    };
    const straight = await mean(0);
    expect(straight).toBeGreaterThan(3);
    expect(straight).toBeLessThan(22);
    for (const degrees of [17, 45, 71, 133, 212]) expect(Math.abs((await mean(degrees)) - straight)).toBeLessThan(0.25);
  });
});

describe('more dose never leaves more coat', () => {
  const cases = Array.from({ length: 14 }, (_, seed) => seed);

  test.each(cases)('random settings %d', async (seed) => {
    const random = createGenerator(100 + seed);
    const between = (low: number, high: number) => low + (high - low) * random.nextUnit();
    const pass: Partial<Pass> = {
      lightEndPower: between(0.3, 0.9),
      darkEndPower: between(0, 0.3),
      feedMmPerS: between(40, 190),
      rowPitchMm: between(0.06, 0.14),
      rows: random.nextUnit() < 0.5 ? 'one-way' : 'two-way',
      screen: random.nextUnit() < 0.5 ? 'continuous' : 'stucki',
    };
    const spotMm = between(0.04, 0.14);
    const of = (more: Partial<Pass>) =>
      longRunUp(
        withSource(instant(plainPiece(18, { ...pass, ...more })), { spotAcrossMm: spotMm, spotAlongMm: spotMm }),
      );
    const picture = photo(18, 14, seed);
    const before = await burn(of({}), picture);
    for (const more of [
      { lightEndPower: pass.lightEndPower! + 0.1 },
      { darkEndPower: pass.darkEndPower! + 0.1 },
      { feedMmPerS: pass.feedMmPerS! * between(0.5, 0.99) },
    ]) {
      const after = await burn(of(more), picture);
      before.residueUm.forEach((residue, coat) => {
        residue.forEach((um, i) => {
          if (after.residueUm[coat][i] > um + LAST_BIT)
            throw new Error(`coat ${coat}, cell ${i}: ${um} → ${after.residueUm[coat][i]}`);
        });
      });
      before.woodDepthUm.forEach((um, i) => {
        if (after.woodDepthUm[i] < um - LAST_BIT) throw new Error(`wood, cell ${i}: ${um} → ${after.woodDepthUm[i]}`);
      });
    }
  });

  test.each([0, 40, 90])('a second pass at heading %d° leaves no more than the first', async (degrees) => {
    const picture = photo(24, 20, 8);
    // The first alone is a second one at no power: a pass across it makes the fine cells smaller.
    const withSecond = (lightEndPower: number): Piece => {
      const base = plainPiece(24, { lightEndPower: 0.5 });
      const [only] = base.passes;
      const rowPitchMm = degrees === 40 ? 0.13 : 0.1;
      const second = { ...only, headingRad: degToRad(degrees), lightEndPower, darkEndPower: 0, rowPitchMm };
      return { ...base, passes: [only, second] };
    };
    const first = await burn(withSecond(0), picture);
    const second = await burn(withSecond(0.3), picture);
    let removed = 0;
    first.residueUm.forEach((residue, coat) => {
      residue.forEach((um, i) => {
        expect(second.residueUm[coat][i]).toBeLessThanOrEqual(um + LAST_BIT);
        removed += um - second.residueUm[coat][i];
      });
    });
    expect(removed).toBeGreaterThan(10);
    second.excess.forEach((dose, i) => {
      expect(dose).toBeGreaterThanOrEqual(first.excess[i] - LAST_BIT);
    });
  });
});

describe('the same result at another tiling', () => {
  const runner = () => createInlineRunner(burnByReference);
  const tiled = (piece: Piece, picture: Picture, swathRows: number) =>
    burn(piece, picture, runner(), createProofPipeline({ swathRows }));
  const picture = photo(30, 37, 9);

  test.each([0, 180])('bit for bit at heading %d°', async (degrees) => {
    const piece = plainPiece(30, { headingRad: degToRad(degrees), screen: 'stucki', rowOffsetErrorMm: 0.07 });
    const whole = await tiled(piece, picture, 128);
    for (const swathRows of [1, 7, 36]) {
      const parts = await tiled(piece, picture, swathRows);
      expect(planes(parts)).toEqual(planes(whole));
      expect(parts.color).toEqual(whole.color);
      expect(parts.proof.summary).toEqual({
        ...whole.proof.summary,
        meanResidueUm: expect.closeTo(whole.proof.summary.meanResidueUm, 9),
      });
    }
  });

  test.each([90, 30])(
    'at heading %d°, where strips cut rows short, within what the halo leaves out',
    async (degrees) => {
      // Beyond the halo the beam's tail is below exp(−16/2) of its peak and the source's lag has died away to exp(−8).
      const piece = plainPiece(30, { headingRad: degToRad(degrees), screen: 'stucki', rowOffsetErrorMm: 0.07 });
      const whole = await tiled(piece, picture, 128);
      const parts = await tiled(piece, picture, 9);
      expectSame(planes(parts), planes(whole), 0.02);
    },
  );
});

describe('crossings are paid for one by one', () => {
  test('rows whose doses would clear the coat together leave it whole one by one', async () => {
    const pitch = 0.02;
    const base = flatFilm(instant(longRunUp(plainPiece(30, { rowPitchMm: pitch, darkEndPower: 0 }))));
    const { source } = base.machine;
    const feed = base.passes[0].feedMmPerS;
    const [top] = base.stack.coats;
    // 95 % of the threshold on the middle of each line (the threshold at this feed's dwell is within 5 % of the piece's).
    const wanted = (0.9 * top.thresholdJPerMm2) / top.absorptance;
    const powerW = wanted / lineDose(1, feed, source.spotAcrossMm);
    const summed = rasterDose(powerW, feed, pitch, source.spotAcrossMm, 0);
    const clearing = (top.thresholdJPerMm2 + (top.specificEnergyJPerMm3 * top.dryThicknessUm) / 1000) / top.absorptance;
    expect(summed).toBeGreaterThan(1.3 * clearing);
    const piece = { ...base, passes: [{ ...base.passes[0], lightEndPower: powerW / source.fullPowerW }] };
    const even = pictureOf(30, 30, () => 1);
    expect(Math.min(...(await burn(piece, even)).residueUm[0])).toBe(25);
    // The same dose from rows four times as far apart and four times as strong does clear.
    const strong: Piece = {
      ...piece,
      passes: [{ ...piece.passes[0], rowPitchMm: 4 * pitch, lightEndPower: (4 * powerW) / source.fullPowerW }],
    };
    const sparse = await burn({ ...strong, picture: { ...strong.picture, widthMm: 2.4 } }, even);
    expect(sparse.residueUm[0][15 * 30 + 15]).toBe(0);
  });
});

/** Residue of the top coat across the middle of one cell, fine cell by fine cell, from the far edge to the near one. */
async function acrossRow(piece: Piece): Promise<number[]> {
  const recorded = recordingBurn();
  await burn(
    piece,
    pictureOf(20, 21, () => 1),
    createInlineRunner(recorded.burnPass),
  );
  const [{ input, output }] = recorded.calls;
  const { subX, subY, width } = input;
  return Array.from({ length: subY }, (_, s) => {
    const at = (10 * subY + s) * width + 10 * subX;
    return input.thicknessUm.data[10 * input.thicknessUm.width + 10] - Math.min(output.depthUm[at], 25);
  });
}

/** The same by hand: what each row's line dose takes, one after another. */
function acrossRowByHand(piece: Piece, count: number): number[] {
  const [top] = piece.stack.coats;
  const [pass] = piece.passes;
  const radiusMm = piece.machine.source.spotAcrossMm;
  const threshold = top.thresholdJPerMm2 * dwellFactor((2 * radiusMm) / pass.feedMmPerS);
  const powerW = pass.lightEndPower * piece.machine.source.fullPowerW;
  return Array.from({ length: count }, (_, s) => {
    const y = ((s + 0.5) / count - 0.5) * pass.rowPitchMm;
    let left = top.dryThicknessUm;
    for (let row = -3; row <= 3; row++) {
      const dose = lineDose(powerW, pass.feedMmPerS, radiusMm, y - row * pass.rowPitchMm);
      left -= Math.max(0, (1000 * (top.absorptance * dose - threshold)) / top.specificEnergyJPerMm3);
    }
    return Math.max(0, left);
  });
}

describe('strips between rows', () => {
  const spot = (radiusMm: number, light: number) =>
    flatFilm(
      longRunUp(
        withSource(plainPiece(20, { rowPitchMm: 0.1, lightEndPower: light }), {
          spotAcrossMm: radiusMm,
          spotAlongMm: radiusMm,
        }),
      ),
    );
  const expectByHand = (profile: number[], piece: Piece) => {
    // Single precision of exposures, weights and depth.
    acrossRowByHand(piece, profile.length).forEach((um, i) => {
      expect(Math.abs(profile[i] - um)).toBeLessThan(1e-3);
    });
  };

  test('stay dark when the spot is small against the pitch', async () => {
    const piece = spot(0.03, 0.6);
    const profile = await acrossRow(piece);
    expect(profile).toHaveLength(13);
    expect(profile[6]).toBe(0);
    expect(profile[0]).toBe(25);
    expect(profile[12]).toBe(25);
    expectByHand(profile, piece);
    // The cleared strip is as wide as a line's mark at the clearing dose, W² = 2w² ln(D/Dclear); fine cells are 0.008 mm.
    const [top] = piece.stack.coats;
    const clearing = (top.thresholdJPerMm2 + (top.specificEnergyJPerMm3 * top.dryThicknessUm) / 1000) / top.absorptance;
    const cleared = profile.filter((um) => um === 0).length * (0.1 / 13);
    expect(Math.abs(cleared - lineMarkWidthMm(0.03, lineDose(6, 100, 0.03), clearing))).toBeLessThan(0.1 / 13);
  });

  test('vanish when the radius reaches the pitch', async () => {
    for (const radiusMm of [0.1, 0.13]) expect(Math.max(...(await acrossRow(spot(radiusMm, 0.85))))).toBe(0);
  });

  test('of a weak pass are as deep as the rows that reach them make them, one after another', async () => {
    for (const [radiusMm, light] of [
      [0.1, 0.4],
      [0.1, 0.2],
      [0.15, 0.5],
    ]) {
      const piece = spot(radiusMm, light);
      const profile = await acrossRow(piece);
      expect(Math.min(...profile)).toBeGreaterThan(0);
      expectByHand(profile, piece);
    }
  });
});

describe('the source', () => {
  const bar = pictureOf(40, 12, (x) => (x >= 12 && x < 26 ? 1 : 0));
  const even = pictureOf(20, 12, () => 1);

  test('gives nothing below its firing floor', async () => {
    const at = (lightEndPower: number) =>
      burn(
        flatFilm(withSource(plainPiece(20, { lightEndPower, darkEndPower: 0, feedMmPerS: 10 }), { firingFloor: 0.3 })),
        even,
      );
    const below = await at(0.299);
    expect(new Set(below.residueUm[0])).toEqual(new Set([25]));
    expect(below.proof.summary.rows).toBe(0);
    expect((await at(0.3)).residueUm[0][6 * 20 + 10]).toBe(0);
  });

  test('follows its power curve: the curve’s output at a set power is what a straight source gives at that output', async () => {
    const powerCurve: [number, number][] = [
      [0.2, 0.1],
      [0.6, 0.5],
      [1, 1],
    ];
    const curved = await burn(
      flatFilm(withSource(plainPiece(20, { lightEndPower: 0.6, darkEndPower: 0.6 }), { powerCurve })),
      even,
    );
    const straight = await burn(flatFilm(plainPiece(20, { lightEndPower: 0.5, darkEndPower: 0.5 })), even);
    expectSame(planes(curved), planes(straight));
  });

  /** Middle of what was removed in a row, in dots. */
  function middleOf({ residueUm, width }: BurnedFields, row: number): number {
    let sum = 0;
    let moment = 0;
    for (let x = 0; x < width; x++) {
      const removed = 25 - residueUm[0][row * width + x];
      sum += removed;
      moment += removed * (x + 0.5);
    }
    return moment / sum;
  }
  /** Rows that do not reach each other, so that each can be told alone; a spot long enough to place a row between dots. */
  const alone = (pass: Partial<Pass>) =>
    flatFilm(
      instant(
        longRunUp(
          withSource(plainPiece(40, { darkEndPower: 0, lightEndPower: 0.3, ...pass }), {
            spotAcrossMm: 0.03,
            spotAlongMm: 0.15,
          }),
        ),
      ),
    );

  test.each([0.3, -0.2, 0.25, 0.07])('rows burned backwards land %f mm off', async (rowOffsetErrorMm) => {
    const fields = await burn(alone({ rowOffsetErrorMm }), bar);
    for (let row = 2; row < 10; row++) {
      const wanted = 19 + (row % 2 === 1 ? rowOffsetErrorMm / 0.1 : 0);
      // Depths are sampled dot by dot and cut off at the threshold: hundredths of a dot.
      expect(Math.abs(middleOf(fields, row) - wanted)).toBeLessThan(0.03);
    }
    const oneWay = await burn(alone({ rowOffsetErrorMm, rows: 'one-way' }), bar);
    for (let row = 2; row < 10; row++) expect(middleOf(oneWay, row)).toBeCloseTo(19, 4);
  });

  test('a late source smears in the direction of travel', async () => {
    const late = withSource(alone({}), { riseTimeS: 0.002, fallTimeS: 0.002 });
    const fields = await burn(late, bar);
    for (let row = 2; row < 10; row++) {
      const shift = middleOf(fields, row) - 19;
      // 2 ms at 100 mm/s are 0.2 mm, two dots; the threshold cuts the tail off, so less of it shows.
      expect(row % 2 === 0 ? shift : -shift).toBeGreaterThan(0.4);
      expect(row % 2 === 0 ? shift : -shift).toBeLessThan(2);
    }
    const [there, back] = [middleOf(fields, 4) - 19, middleOf(fields, 5) - 19];
    expect(there).toBeCloseTo(-back, 4);
  });
});

describe('run-up', () => {
  const even = pictureOf(120, 9, () => 0.25);
  const of = (runUpMm: number, powerAtRamps: 'held' | 'follows-feed') =>
    flatFilm(instant(withMotion(plainPiece(120), { runUpMm, powerAtRamps, accelerationMmPerS2: 2000 })));
  const rowOf = (fields: BurnedFields) => fields.residueUm[0].subarray(4 * 120, 5 * 120);

  test('a long one: no difference along the row, whatever the power does on ramps', async () => {
    const runUp = fullRunUpMm(100, 2000);
    expect(runUp).toBeCloseTo(2.5, 12);
    const held = rowOf(await burn(of(runUp, 'held'), even));
    expectSame([held], [rowOf(await burn(of(runUp, 'follows-feed'), even))]);
    for (let x = 6; x < 114; x++) expect(Math.abs(held[x] - held[60])).toBeLessThan(LAST_BIT);
  });

  test('a short one burns both ends of a row deeper while the power is held', async () => {
    const held = rowOf(await burn(of(0.5, 'held'), even));
    const follows = rowOf(await burn(of(0.5, 'follows-feed'), even));
    // Past the edge's own fall-off, the ends are deeper than the middle, and less and less so up to the ramp's end, 2 mm in.
    expect(held[4]).toBeLessThan(held[60] - 1);
    expect(held[115]).toBeLessThan(held[60] - 1);
    for (let x = 4; x < 18; x++) expect(held[x]).toBeLessThanOrEqual(held[x + 1] + LAST_BIT);
    for (let x = 23; x < 97; x++) expect(Math.abs(held[x] - held[60])).toBeLessThan(LAST_BIT);
    for (let x = 6; x < 114; x++) expect(Math.abs(follows[x] - follows[60])).toBeLessThan(LAST_BIT);
    expect(follows[60]).toBeCloseTo(held[60], 4);
    // The law at the end: the dose there is up by v / √(2 a s), s the way since the start.
    expect(Math.abs(held[5] - held[114])).toBeLessThan(LAST_BIT);
  });
});
