import { withTypicalAbsorptances, woodAbsorptance } from '../../physics/material/absorptance.ts';
import { burnDirection } from '../../physics/material/appearance.ts';
import type { Certainty, Heat, Pass, Piece, Slab, Stack, Wood } from '../../piece/schema.ts';
import { woodOf } from '../../piece/species.ts';
import { setProof } from '../burn/proof-store.ts';
import { usePieceStore } from './piece-store.ts';

const lightens = (piece: Piece): boolean => burnDirection(piece.stack, piece.slab.wood) === 'lightens';

/** True if only numbers changed that do not decide whether burning lightens. */
const sameColors = (a: Piece, b: Piece): boolean =>
  a.slab.wood.colorLab === b.slab.wood.colorLab &&
  a.stack.coats.length === b.stack.coats.length &&
  a.stack.coats.every((coat, i) => coat.colorLab === b.stack.coats[i].colorLab);

/**
 * Edits coats or wood. When they turn from what lightens under the beam into what darkens, or back, the powers of the tone
 * ends change places with it, so that the picture does not become a negative; the maker is told.
 */
function changeMaterial(edit: (piece: Piece) => Piece): void {
  const before = usePieceStore.getState().piece;
  const after = edit(before);
  const turned = !sameColors(before, after) && lightens(before) !== lightens(after);
  if (turned) {
    setProof({
      notice: `This stack ${lightens(after) ? 'lightens' : 'darkens'} where it is burned, so light-end and dark-end power changed places.`,
    });
  }
  usePieceStore.getState().change(() => (turned ? { ...after, passes: after.passes.map(swapEnds) } : after));
}

const swapEnds = (pass: Pass): Pass => ({
  ...pass,
  lightEndPower: pass.darkEndPower,
  darkEndPower: pass.lightEndPower,
});

export const changeStack = (edit: (stack: Stack) => Stack): void =>
  changeMaterial((piece) => ({ ...piece, stack: edit(piece.stack) }));

export const changeWood = (part: Partial<Wood>): void =>
  changeMaterial((piece) => ({ ...piece, slab: { ...piece.slab, wood: { ...piece.slab.wood, ...part } } }));

export const changeSlab = (part: Partial<Slab>): void =>
  usePieceStore.getState().change((piece) => ({ ...piece, slab: { ...piece.slab, ...part } }));

export const changeHeat = (part: Partial<Heat>): void =>
  usePieceStore.getState().change((piece) => ({ ...piece, heat: { ...piece.heat, ...part } }));

/** Spreads set by hand stand for themselves: what a card knew of them together no longer counts. */
export const changeSpread = (part: Partial<Omit<Certainty, 'source' | 'covariance'>>): void =>
  usePieceStore.getState().change((piece) => ({
    ...piece,
    certainty: { ...piece.certainty, covariance: null, ...part },
  }));

/** A species' wood, as it takes up light of a wavelength. @throws RangeError for an id that is no species'. */
export const woodAt = (id: string, wavelengthNm: number): Wood => ({
  ...woodOf(id),
  absorptance: Math.round(1000 * woodAbsorptance(wavelengthNm)) / 1000,
});

export function changePass(index: number, part: Partial<Pass>): void {
  usePieceStore.getState().change((piece) => ({
    ...piece,
    passes: piece.passes.map((pass, i) => (i === index ? { ...pass, ...part } : pass)),
  }));
}

/** Sets what is typical for the source's wavelength; the maker's own values come back with undo. */
export function setTypicalAbsorptances(): void {
  usePieceStore.getState().change(withTypicalAbsorptances);
  const { piece } = usePieceStore.getState();
  const values = piece.stack.coats.map((coat) => `${coat.name} ${Math.round(100 * coat.absorptance)} %`);
  const wood = `${piece.slab.wood.name} ${Math.round(100 * piece.slab.wood.absorptance)} %`;
  setProof({
    notice: `Absorptances typical for ${piece.machine.source.wavelengthNm} nm: ${[...values, wood].join(', ')}. Thresholds and specific energies stay as they were.`,
  });
}
