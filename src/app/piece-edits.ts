import { withTypicalAbsorptances } from '../core/material/absorptance.ts';
import { burnDirection } from '../core/material/appearance.ts';
import type { Pass, Piece, Stack } from '../core/piece/schema.ts';
import { usePieceStore } from './stores/piece-store.ts';
import { setProof } from './stores/proof-store.ts';

const lightens = (piece: Piece): boolean => burnDirection(piece.stack, piece.slab.wood) === 'lightens';

/** True if only numbers changed that do not decide whether burning lightens. */
const sameColors = (a: Stack, b: Stack): boolean =>
  a.coats.length === b.coats.length && a.coats.every((coat, i) => coat.colorLab === b.coats[i].colorLab);

/**
 * Edits the stack. When it turns from one that lightens under the beam into one that darkens, or back, the powers of the tone
 * ends change places with it, so that the picture does not become a negative; the maker is told.
 */
export function changeStack(edit: (stack: Stack) => Stack): void {
  const before = usePieceStore.getState().piece;
  const stack = edit(before.stack);
  const after: Piece = { ...before, stack };
  const turned = !sameColors(before.stack, stack) && lightens(before) !== lightens(after);
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
