import { create } from 'zustand';
import type { SlabShape } from '../../../render/mesh/outline.ts';
import type { Lamp } from '../../../render/mockup/lights.ts';
import type { FaceLook } from '../../../render/mockup/mockup-scene.ts';
import { AT_HOME, type Stance } from '../../../render/mockup/stance.ts';
import type { SettingName } from '../../../render/mockup/things/setting.ts';
import type { SlabParts } from '../../../render/model/slab-parts.ts';
import type { ProofRecord } from '../../burn/proof-store.ts';

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
  /** What is being done, with how far it is, 0–1. */
  readonly busy: { readonly label: string; readonly share: number; readonly stop: () => void } | null;
  readonly fault: string | null;
}

export const MOCKUP_LAMP: Lamp = { azimuthRad: 5.5, elevationRad: 0.62 };

export const useMockup = create<MockupState>()(() => ({
  record: null,
  shown: null,
  setting: 'shelf',
  lamp: MOCKUP_LAMP,
  stance: AT_HOME,
  band: null,
  busy: null,
  fault: null,
}));

export const setMockup = useMockup.setState;

/** A face that the mock-up worker keeps under its key. */
export interface ShownSlab {
  readonly key: string;
  readonly slab: SlabShape;
  readonly parts: SlabParts;
  readonly look: FaceLook;
}
