import { expect, test } from 'vitest';
import { likeBefore } from '../../src/page/piece/like-before.ts';
import { cropFor, newPiece, titleOf } from '../../src/page/store/files.ts';
import { isBlank } from '../../src/page/store/piece-store.ts';
import { createDemoPiece } from '../../src/piece/demo-piece.ts';
import { packPlaces } from '../../src/piece/tiles.ts';

test('a piece is named after its photograph', () => {
  expect(titleOf('harbour_at-dusk.JPG')).toBe('harbour at-dusk');
  expect(titleOf('two.dots.jpeg')).toBe('two.dots');
  expect(titleOf('.png')).toBe('');
  expect(titleOf(`${'x'.repeat(300)}.png`)).toHaveLength(200);
});

test('a new piece carries nothing of the demo', () => {
  const piece = newPiece();
  const demo = createDemoPiece();
  expect(isBlank({ piece, photo: null })).toBe(true);
  expect(piece.name).toBe('');
  expect(piece.slab.knots).toEqual([]);
  expect(piece.picture.tone.exposureEv).toBe(0);
  expect(piece.picture.tone.contrast).toBe(0);
  expect(piece.passes[0].lightEndPower).not.toBe(demo.passes[0].lightEndPower);
});

test('an outline is filled by a picture that is cut like it', () => {
  const { slab } = newPiece();
  expect(cropFor({ ...slab, shape: 'rectangle' })).toBe('rectangle');
  expect(cropFor({ ...slab, shape: 'oval' })).toBe('oval');
  expect(cropFor({ ...slab, shape: 'outline' })).toBe('oval');
});

test('paint and machine of a piece before come without its slab, its tones and its places', () => {
  const only = packPlaces(2, 2, Uint8Array.from([255, 0, 0, 255]));
  const demo = createDemoPiece();
  const before = {
    ...demo,
    machine: { ...demo.machine, name: 'Blue one' },
    placement: { ...demo.placement, bedWidthMm: 610, bedHeightMm: 420, turnRad: 1, xMm: 17 },
    passes: demo.passes.map((pass) => ({ ...pass, only })),
    log: [{} as never],
  };
  const like = likeBefore(newPiece(), before as never);
  expect(like.machine.name).toBe('Blue one');
  expect(like.stack.coats).toEqual(before.stack.coats);
  expect(like.passes[0].lightEndPower).toBe(demo.passes[0].lightEndPower);
  expect(like.passes[0].only).toBeNull();
  expect(like.placement).toMatchObject({ bedWidthMm: 610, bedHeightMm: 420, xMm: 305, yMm: 210, turnRad: 0 });
  expect(like.picture.tone).toMatchObject({ exposureEv: 0, contrast: 0 });
  expect(like.slab.knots).toEqual([]);
  expect(like.log).toEqual([]);
  expect(like.name).toBe('');
});
