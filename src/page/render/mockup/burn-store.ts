import { create } from 'zustand';
import type { PauseEffect } from '../../../outputs/program/pause-effect.ts';
import type { PassCourse } from '../../../physics/raster/burn-clock.ts';
import type { BurnFrame } from '../../../render/mockup/burn-scene.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import type { ShownSlab } from './mockup-store.ts';

/** A burn ready to be looked at. */
export interface ReadyBurn {
  readonly courses: readonly PassCourse[];
  /** The slab before it and after each pass. */
  readonly faces: readonly ShownSlab[];
  readonly frame: BurnFrame;
  readonly totalS: number;
}

export interface PausePoint {
  readonly pass: number;
  readonly minute: number;
  readonly lengthMin: number;
  /** Null while it is worked out. */
  readonly effect: PauseEffect | null;
}

interface BurnState {
  /** The proof whose burn is watched; null while the sheet is shut. */
  readonly record: ProofRecord | null;
  readonly burn: ReadyBurn | null;
  /** Time since the burn began, s. */
  readonly seconds: number;
  readonly playing: boolean;
  readonly pause: PausePoint | null;
  readonly busy: { readonly label: string; readonly share: number; readonly stop: () => void } | null;
  readonly fault: string | null;
}

export const useBurn = create<BurnState>()(() => ({
  record: null,
  burn: null,
  seconds: 0,
  playing: false,
  pause: null,
  busy: null,
  fault: null,
}));

export const setBurn = useBurn.setState;
