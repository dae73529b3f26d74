import { createPiece, NEUTRAL_TONE, plainSlab } from '../../../src/piece/defaults.ts';
import type { Piece } from '../../../src/piece/schema.ts';

/** Deviation of a spot's radius (estimate). */
const SPOT = 0.08;

/** The preset stack, one whose film lets light by as it vanishes, and one under a wide, late beam whose rows do not quite meet. */
export function benchStacks(widthMm: number): { name: string; piece: Piece }[] {
  const piece = createPiece('Dots', 'picture.png');
  const plain: Piece = {
    ...piece,
    slab: { ...plainSlab(piece.slab), shape: 'rectangle', widthMm: 400, heightMm: 400 },
    picture: { ...piece.picture, widthMm, crop: 'rectangle', tone: NEUTRAL_TONE },
  };
  const [top, under] = plain.stack.coats;
  const open = { ...top, opticalDepthUm: 5, thresholdJPerMm2: top.thresholdJPerMm2 / 4, dryThicknessUm: 22 };
  const { source } = plain.machine;
  return [
    { name: 'preset', piece: plain },
    {
      name: 'open film',
      piece: {
        ...plain,
        stack: { ...plain.stack, coats: [open, under] },
        machine: { ...plain.machine, source: { ...source, spotAcrossMm: 0.084, spotAlongMm: 0.084 } },
        passes: [{ ...plain.passes[0], lightEndPower: 0.62, darkEndPower: 0 }],
      },
    },
    {
      name: 'late wide beam',
      piece: {
        ...plain,
        machine: {
          ...plain.machine,
          source: { ...source, spotAcrossMm: 0.13, spotAlongMm: 0.11, riseTimeS: 0.0004, fallTimeS: 0.0002 },
        },
        passes: [{ ...plain.passes[0], lightEndPower: 0.95, rowOffsetErrorMm: 0.04 }],
      },
    },
  ];
}

/** The piece with film, threshold or spot one deviation of a preset off, each way. */
export function burnsThatAreOff(piece: Piece): [how: string, piece: Piece][] {
  const { threshold, thickness } = piece.certainty;
  const [top, ...below] = piece.stack.coats;
  const coat = (filmFactor: number, thresholdFactor: number): Piece => {
    const dryThicknessUm = filmFactor * top.dryThicknessUm;
    const thresholdJPerMm2 = thresholdFactor * top.thresholdJPerMm2;
    return { ...piece, stack: { ...piece.stack, coats: [{ ...top, dryThicknessUm, thresholdJPerMm2 }, ...below] } };
  };
  const spot = (factor: number): Piece => {
    const { source } = piece.machine;
    const spots = { spotAcrossMm: factor * source.spotAcrossMm, spotAlongMm: factor * source.spotAlongMm };
    return { ...piece, machine: { ...piece.machine, source: { ...source, ...spots } } };
  };
  return [
    ['thick film', coat(1 + thickness, 1)],
    ['thin film', coat(1 - thickness, 1)],
    ['high threshold', coat(1, 1 + threshold)],
    ['low threshold', coat(1, 1 - threshold)],
    ['wide spot', spot(1 + SPOT)],
    ['narrow spot', spot(1 - SPOT)],
    [
      'a film that may lie there',
      { ...piece, stack: { ...piece.stack, film: { ...piece.stack.film, shown: 'drawn' } } },
    ],
  ];
}
