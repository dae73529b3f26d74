import { create } from 'zustand';
import { createRemote } from '../../../base/remote/remote.ts';
import type { PauseEffect } from '../../../outputs/program/take-up.ts';
import type { PassCourse } from '../../../physics/raster/pass-time.ts';
import type { Lamp } from '../../../render/lamp.ts';
import type { SlabShape } from '../../../render/mesh/outline.ts';
import type { BurnFrame } from '../../../render/mockup/burn-scene.ts';
import { AT_HOME, type FaceLook, type Stance } from '../../../render/mockup/mockup-scene.ts';
import type { SettingName } from '../../../render/mockup/things/solids.ts';
import type { SlabParts } from '../../../render/model/slab-parts.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';
import { createTask } from '../../remote/task.ts';
import { openWorker } from '../../remote/worker-port.ts';
import type { MockupQuestions } from './messages.ts';

interface MockupState {
  /** The proof that is shown; null while the sheet is shut. */
  readonly record: ProofRecord | null;
  readonly shown: ShownSlab | null;
  readonly setting: SettingName;
  readonly lamp: Lamp;
  readonly stance: Stance;
  /** Addresses of the two stills at the ends of what is likely. */
  readonly band: {
    readonly lighter: string;
    readonly darker: string;
    readonly keys: { lighter: string; darker: string };
  } | null;
}

export const MOCKUP_LAMP: Lamp = { azimuthRad: 5.5, elevationRad: 0.62 };

export const useMockupStore = create<MockupState>()(() => ({
  record: null,
  shown: null,
  setting: 'shelf',
  lamp: MOCKUP_LAMP,
  stance: AT_HOME,
  band: null,
}));

export const setMockup = useMockupStore.setState;

/** The mock-up, or what is saved of it, being drawn. */
export const drawing = createTask();

/** A face that the mock-up worker keeps under its key. */
export interface ShownSlab {
  readonly key: string;
  readonly slab: SlabShape;
  readonly parts: SlabParts;
  readonly look: FaceLook;
}

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
}

export const useBurnStore = create<BurnState>()(() => ({
  record: null,
  burn: null,
  seconds: 0,
  playing: false,
  pause: null,
}));

export const setBurn = useBurnStore.setState;

/** The burn, or what is asked of it, being worked out. */
export const following = createTask();

/** Draws mock-ups and keeps the faces it has drawn. If it is lost they are, too: both sheets offer to draw them again. */
export const mockupWorker = createRemote<MockupQuestions>(
  openWorker(() => new Worker(new URL('./mockup-worker.ts', import.meta.url), { type: 'module' }), 'draws mock-ups'),
  () => {
    setMockup({ shown: null, band: null });
    setBurn({ burn: null, playing: false });
  },
);
