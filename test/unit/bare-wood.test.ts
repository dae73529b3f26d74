import { describe, expect, test } from 'vitest';
import { Cancelled } from '../../src/base/stop.ts';
import { groundGrid, groundKey, layGround } from '../../src/burn/coarse.ts';
import { createInlineRunner } from '../../src/burn/runner.ts';
import type { SwathResult } from '../../src/burn/swath-task.ts';
import { luminanceToLightness } from '../../src/image/lightness.ts';
import { appearanceLab, buildAppearance } from '../../src/physics/material/appearance.ts';
import { ashUm, shieldingFactor } from '../../src/physics/material/layers.ts';
import { knotWood, woodAbsorptanceAt } from '../../src/physics/wood/grain.ts';
import { DEFAULT_STACK, woodOf } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { type BurnedFields, burn, flatFilm, pictureOf, plainPiece } from '../helpers/burn.ts';
import { burnByReference } from '../helpers/reference-burn.ts';

/** Bare wood under a picture of its own size, a knot in the left half. */
function barePiece(more: Partial<Piece['slab']> = {}): Piece {
  const piece = plainPiece(120, { rowPitchMm: 0.1, feedMmPerS: 100, lightEndPower: 0.06, darkEndPower: 0.4 });
  const knots = [{ xMm: -3, yMm: 0, diameterMm: 4, tiltRad: 0, filled: true }];
  return { ...piece, stack: { ...piece.stack, coats: [] }, slab: { ...piece.slab, knots, ...more } };
}
const light = (fields: BurnedFields, x: number, y: number): number => {
  const channel = fields.color[4 * (y * fields.width + x) + 1] / 255;
  return luminanceToLightness(channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4);
};

describe('bare wood', () => {
  test('darkens where it is burned, and a knot burns black whatever the picture says (common practice, no published source)', async () => {
    // Light above, dark below.
    const fields = await burn(
      barePiece(),
      pictureOf(120, 60, (_, y) => (y < 30 ? 0.9 : 0.02)),
    );
    expect(fields.proof.direction).toBe('darkens');
    const [clearLight, clearDark] = [light(fields, 95, 15), light(fields, 95, 45)];
    const [knotLight, knotDark] = [light(fields, 30, 20), light(fields, 30, 40)];
    expect(clearLight - clearDark).toBeGreaterThan(0.25);
    expect(knotDark).toBeLessThan(0.3);
    // What the picture drew there is lost: the knot keeps less than half of the contrast.
    expect(knotLight - knotDark).toBeLessThan(0.5 * (clearLight - clearDark));
  });

  test('denser wood is burned less deep, darker wood takes more light', async () => {
    const picture = pictureOf(120, 60, () => 0);
    const burned = await burn(barePiece(), picture);
    const depth = (x: number) => burned.woodDepthUm[30 * 120 + x];
    // The knot takes up more of the light but is nearly twice as heavy.
    expect(depth(30)).toBeLessThan(0.95 * depth(95));
    expect(woodAbsorptanceAt(0.59, 0)).toBeCloseTo(0.59, 12);
    expect(woodAbsorptanceAt(0.59, 1)).toBeCloseTo(0.795, 12);
    expect(woodAbsorptanceAt(0.59, -0.3)).toBeLessThan(0.59);
  });

  test('a knot is a darker wood that chars at a smaller dose, down to about the same black', () => {
    const wood = woodOf('lime');
    const table = buildAppearance({ ...DEFAULT_STACK, coats: [] }, wood);
    const over = buildAppearance({ ...DEFAULT_STACK, coats: [] }, knotWood(wood));
    expect(appearanceLab(over, 0, 0)[0]).toBeCloseTo(appearanceLab(table, 0, 0)[0] - 20, 0);
    expect(appearanceLab(over, 0, 0, 0.04)[0]).toBeLessThan(appearanceLab(table, 0, 0, 0.04)[0] - 30);
    expect(Math.abs(appearanceLab(over, 0, 180)[0] - appearanceLab(table, 0, 180)[0])).toBeLessThan(20);
  });

  test('under hiding coats a knot does not show (common practice, no published source)', async () => {
    const coated = flatFilm({ ...barePiece(), stack: DEFAULT_STACK });
    const fields = await burn(
      { ...coated, passes: [{ ...coated.passes[0], lightEndPower: 0.85, darkEndPower: 0.08 }] },
      pictureOf(120, 60, () => 1),
    );
    expect(Math.abs(light(fields, 30, 30) - light(fields, 95, 30))).toBeLessThan(0.03);
  });
});

describe('ash', () => {
  test('none in a full stream of air; else it shields the work and greys what it lies on', () => {
    expect([ashUm(25, 1), shieldingFactor(1)]).toEqual([0, 1]);
    expect(ashUm(25, 0.2)).toBeGreaterThan(ashUm(25, 0.6));
    expect(shieldingFactor(0)).toBeGreaterThan(1);
    const swept = buildAppearance(DEFAULT_STACK, woodOf('lime'), 1);
    const still = buildAppearance(DEFAULT_STACK, woodOf('lime'), 0);
    expect(appearanceLab(still, 1, 50)[0]).toBeLessThan(appearanceLab(swept, 1, 50)[0] - 3);
    // Where nothing was removed there is no ash.
    expect(appearanceLab(still, 0, 30)).toEqual(appearanceLab(swept, 0, 30));
  });

  test('still air leaves more of the coat', async () => {
    const piece = flatFilm(plainPiece(40, { lightEndPower: 0.4, rowPitchMm: 0.1, feedMmPerS: 100 }));
    const white = pictureOf(40, 30, () => 1);
    const residue = async (airFlow: number) =>
      (await burn({ ...piece, machine: { ...piece.machine, airFlow } }, white)).residueUm[0][15 * 40 + 20];
    expect(await residue(0)).toBeGreaterThan((await residue(1)) + 1);
  });
});

describe('the slab before the burn', () => {
  test('covers its bounding box, says where there is paint, and shows the knot where nothing covers it', async () => {
    const small = { ...barePiece(), stack: DEFAULT_STACK };
    const piece: Piece = { ...small, slab: { ...small.slab, widthMm: 30, heightMm: 20, maskedRimMm: 4 } };
    const grid = groundGrid(piece);
    expect(grid).toEqual({ width: 150, height: 100, pitchMm: 0.2 });
    const strips: SwathResult[] = [];
    const runner = createInlineRunner(burnByReference);
    await layGround(piece, buildAppearance(piece.stack, piece.slab.wood), runner, (strip) => strips.push(strip));
    const color = new Uint8Array(4 * grid.width * grid.height);
    for (const strip of strips) color.set(strip.color as Uint8Array, 4 * strip.y0 * grid.width);
    const at = (xMm: number, yMm: number) => {
      const i = 4 * (Math.floor((yMm + 10) / 0.2) * grid.width + Math.floor((xMm + 15) / 0.2));
      return [...color.subarray(i, i + 4)];
    };
    expect(at(0, 0)[3]).toBe(255);
    expect(at(-13, 0)[3]).toBe(0);
    expect(at(-13, 0)[0]).toBeGreaterThan(at(0, 0)[0] + 60);
    expect(groundKey(piece)).not.toBe(groundKey({ ...piece, slab: { ...piece.slab, seepMm: 1 } }));
    expect(groundKey(piece)).toBe(groundKey({ ...piece, passes: [] }));
    await expect(
      layGround(
        piece,
        buildAppearance(piece.stack, piece.slab.wood),
        runner,
        () => {},
        AbortSignal.abort(new Cancelled()),
      ),
    ).rejects.toThrow('cancelled');
  });
});
