import { temporal } from 'zundo';
import { create } from 'zustand';
import { persist } from 'zustand/middleware';
import type { LengthUnit } from '../../base/quantity.ts';
import { degToRad } from '../../base/units.ts';
import { burnDirection } from '../../physics/material/appearance.ts';
import { withTypicalAbsorptances, woodAbsorptance } from '../../physics/material/layers.ts';
import { type PaintJob, paintStack } from '../../physics/material/paints.ts';
import { PRESET_CERTAINTY, woodOf } from '../../piece/defaults.ts';
import { createDemoPiece } from '../../piece/demo-piece.ts';
import { type FieldPath, withValueAt } from '../../piece/fields.ts';
import type { Heat, Pass, Piece, Slab, Stack, Wood } from '../../piece/schema.ts';
import type { Lamp } from '../../render/lamp.ts';
import { setProof } from '../burn/proof-store.ts';

/** A photograph that is open: its bytes are kept beside the store, by key. */
export interface OpenPhoto {
  readonly key: string;
  readonly name: string;
  readonly width: number;
  readonly height: number;
}

/** What is saved and undone. */
export interface PieceState {
  readonly piece: Piece;
  readonly photo: OpenPhoto | null;
}

/** True of a piece that has no photograph yet: it is still being begun. */
export const isBlank = ({ piece, photo }: PieceState): boolean => photo === null && piece.picture.file === '';

interface PieceActions {
  /** One step of undo; steps that follow within a moment (a slider being drawn) become one. */
  change(edit: (piece: Piece) => Piece): void;
  replace(state: PieceState): void;
}

const UNDO_STEPS = 200;

const MERGE_MS = 600;

let lastMs = Number.NEGATIVE_INFINITY;

let holding = false;

/** Passes the first of a burst of changes on, so that undo goes back to before the burst. */
function firstOfBurst<Args extends unknown[]>(handle: (...args: Args) => void): (...args: Args) => void {
  return (...args) => {
    const now = performance.now();
    if (now - lastMs > MERGE_MS) handle(...args);
    // A hand that rests in the middle of a drag has not let go.
    lastMs = holding ? Number.POSITIVE_INFINITY : now;
  };
}

/** All changes until `endStep` are one step of undo of their own, however long they take. */
export function beginStep(): void {
  holding = true;
  lastMs = Number.NEGATIVE_INFINITY;
}

export function endStep(): void {
  holding = false;
  lastMs = Number.NEGATIVE_INFINITY;
}

export const usePieceStore = create<PieceState & PieceActions>()(
  temporal(
    (set) => ({
      piece: createDemoPiece(),
      photo: null,
      change: (edit) => set((state) => ({ piece: edit(state.piece) })),
      replace: (state) => set(state),
    }),
    {
      limit: UNDO_STEPS,
      partialize: ({ piece, photo }): PieceState => ({ piece, photo }),
      equality: (past, current) => past.piece === current.piece && past.photo === current.photo,
      handleSet: (handle) => firstOfBurst(handle),
    },
  ),
);

/** A change that comes with what was done before and is no step of undo of its own. */
export function changeAside(edit: (piece: Piece) => Piece): void {
  const { pause, resume } = usePieceStore.temporal.getState();
  pause();
  usePieceStore.getState().change(edit);
  resume();
}

export const undo = (): void => usePieceStore.temporal.getState().undo();

export const redo = (): void => usePieceStore.temporal.getState().redo();

const lightens = (piece: Piece): boolean => burnDirection(piece.stack, piece.slab.wood) === 'lightens';

/** True if only numbers changed that do not decide whether burning lightens. */
const sameColors = (a: Piece, b: Piece): boolean =>
  a.slab.wood.colorLab === b.slab.wood.colorLab &&
  a.stack.coats.length === b.stack.coats.length &&
  a.stack.coats.every((coat, i) => coat.colorLab === b.stack.coats[i].colorLab);

/**
 * Edits what may be coats or wood. When they turn from what lightens under the beam into what darkens, or back, the powers of the tone
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

/** Fills the coats in as a paint job leaves them. What a card said of other paint does not hold for them. */
export const takePaint = (job: PaintJob): void =>
  changeMaterial((piece) => ({
    ...piece,
    stack: { ...piece.stack, coats: paintStack(job, piece.machine.source.wavelengthNm) },
    certainty: PRESET_CERTAINTY,
  }));

/** Sets one number, with all that goes with it. */
export const setField = (path: FieldPath, value: number): void =>
  changeMaterial((piece) => {
    const changed = withValueAt(piece, path, value);
    // Spreads set by hand stand for themselves: what a card knew of them together no longer counts.
    return path.startsWith('certainty.')
      ? { ...changed, certainty: { ...changed.certainty, covariance: null } }
      : changed;
  });

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

export const STEPS = ['slab', 'coats', 'picture', 'passes', 'proof', 'hand-over'] as const;

export type Step = (typeof STEPS)[number];

/** What the maker said last of faces: whether there are any in a photograph. */
export type FacesSaid = { readonly photoKey: string; readonly any: boolean } | null;

interface SessionState {
  readonly openStep: Step | null;
  readonly units: LengthUnit;
  readonly lamp: Lamp;
  readonly reliefExaggeration: number;
  readonly sheen: 'satin' | 'matte';
  /** The proof itself, or a map of what is likely. */
  readonly shows: 'proof' | 'uncleared' | 'scorched';
  readonly uncleared: boolean;
  readonly scorched: boolean;
  readonly wipe: number;
  /** How two picked proofs are shown. */
  readonly compare: 'wipe' | 'side-by-side';
  readonly resetToken: number;
  /** The camera flies here; a place of the slab from its centre, mm, y growing downwards. */
  readonly lookAt: { readonly xMm: number; readonly yMm: number; readonly sizeMm: number } | null;
  /** The picture is being placed by hand. */
  readonly placing: boolean;
  /** A fold of the open step that somebody has asked for from elsewhere. */
  readonly unfolds: string | null;
  /** Height of the column where it is a sheet below the slab, share of the page's. */
  readonly sheet: number;
  /** The piece is being begun: photograph, slab and paint in one place. */
  readonly beginning: boolean;
  readonly faces: FacesSaid;
  /** A photograph that was opened while another one is on the piece: the maker is asked what becomes of the tones. */
  readonly otherPhoto: OpenPhoto | null;
}

/** Panels, lamp and camera: kept between visits on this machine, never part of a piece. */
export const useSessionStore = create<SessionState>()(
  persist(
    (): SessionState => ({
      openStep: 'passes',
      units: 'mm',
      lamp: { azimuthRad: degToRad(315), elevationRad: degToRad(38) },
      reliefExaggeration: 1,
      sheen: 'satin',
      shows: 'proof',
      uncleared: false,
      scorched: false,
      wipe: 0.5,
      compare: 'wipe',
      resetToken: 0,
      lookAt: null,
      placing: false,
      unfolds: null,
      sheet: 0.42,
      beginning: false,
      faces: null,
      otherPhoto: null,
    }),
    {
      name: 'foreburn-session',
      version: 1,
      partialize: ({ resetToken, lookAt, placing, unfolds, sheet, beginning, otherPhoto, ...kept }) => kept,
    },
  ),
);

export const setSession = useSessionStore.setState;
