import { expect, test } from 'vitest';
import { forOtherPhotograph } from '../../src/page/store/files.ts';
import { createPiece } from '../../src/piece/defaults.ts';
import type { Piece } from '../../src/piece/schema.ts';
import { packPlaces } from '../../src/piece/tiles.ts';

const plain = createPiece('Reach', 'reach.jpg');
const only = packPlaces(2, 2, Uint8Array.from([255, 0, 0, 255]));
const kept: Piece = { ...plain, passes: [plain.passes[0], { ...plain.passes[0], only }] };
const stroke = { points: [[0.5, 0.5]], radius: 0.1, softness: 0, restores: false } as never;
const masked = (piece: Piece): Piece => ({ ...piece, picture: { ...piece.picture, strokes: [stroke] } });

test('another photograph takes mask and places of passes with it, and says so', () => {
  expect(forOtherPhotograph(plain)).toEqual({ piece: plain, notice: null });
  const places = forOtherPhotograph(kept);
  expect(places.piece.passes.map((pass) => pass.only)).toEqual([null, null]);
  expect(places.notice).toMatch(/^The places that a pass was kept to .* burns everywhere/);
  const mask = forOtherPhotograph(masked(plain));
  expect(mask.piece).toEqual(plain);
  expect(mask.notice).toMatch(/^Cut, mask and healing were made/);
  expect(forOtherPhotograph(masked(kept)).notice).toMatch(/^Cut, mask and healing, and the places/);
});
