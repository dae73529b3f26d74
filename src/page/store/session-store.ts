import { create } from 'zustand';
import { persist } from 'zustand/middleware';
import { degToRad } from '../../base/units.ts';
import type { Lamp } from '../../render/slab/SlabView.tsx';

export const STEPS = ['slab', 'coats', 'picture', 'passes', 'proof', 'hand-over'] as const;
export type Step = (typeof STEPS)[number];

interface SessionState {
  readonly openStep: Step | null;
  readonly units: 'mm' | 'inch';
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
    }),
    { name: 'foreburn-session', version: 1, partialize: ({ resetToken, lookAt, placing, ...kept }) => kept },
  ),
);
export const setSession = useSessionStore.setState;
