import { expect, test } from 'vitest';
import { createPiece } from '../../src/piece/defaults.ts';
import { pieceImages, renameImages } from '../../src/piece/images.ts';
import type { LogEntry, Piece } from '../../src/piece/schema.ts';

const base = createPiece('Trial', 'photo.jpg');
const entry = (photo: string | null): LogEntry => ({
  burnedAt: '2031-05-02T09:30:00+02:00',
  passes: base.passes,
  files: [],
  minutes: 80,
  outcome: 'good',
  note: '',
  photo,
});
const face = { file: 'face.jpg', xMm: 0, yMm: 0, widthMm: 300, heightMm: 240, shown: true };
const piece: Piece = { ...base, slab: { ...base.slab, photo: face }, log: [entry(null), entry('out.jpg')] };

test('names every image but the photograph', () => {
  expect(pieceImages(piece)).toEqual(['face.jpg', 'out.jpg']);
  expect(pieceImages(base)).toEqual([]);
});

test('renames what is there and does without what is missing, and touches nothing else', () => {
  const renamed = renameImages(piece, (name) => (name === 'out.jpg' ? 'image-1.jpg' : null));
  expect(pieceImages(renamed)).toEqual(['image-1.jpg']);
  expect(renamed.slab.photo).toBeNull();
  expect(renamed.log[0]).toEqual(piece.log[0]);
  expect(renameImages(piece, (name) => name)).toEqual(piece);
});
