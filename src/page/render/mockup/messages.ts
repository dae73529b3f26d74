import type { Maker } from '../../../base/maker.ts';
import type { PassCourse } from '../../../physics/raster/pass-time.ts';
import type { SlabPhoto } from '../../../piece/schema.ts';
import type { Lamp } from '../../../render/lamp.ts';
import type { SlabShape } from '../../../render/mesh/outline.ts';
import type { BurnFrame } from '../../../render/mockup/burn-scene.ts';
import type { ClipKind } from '../../../render/mockup/clip.ts';
import type { Stance } from '../../../render/mockup/mockup-scene.ts';
import type { SettingName } from '../../../render/mockup/things/solids.ts';
import type { FaceParts } from '../../../render/model/face-map.ts';
import type { SlabParts } from '../../../render/model/slab-parts.ts';

/** What a mock-up is seen in. */
export interface Look {
  readonly setting: SettingName;
  readonly lamp: Lamp;
  readonly stance: Stance;
}

type Pixels = { readonly width: number; readonly height: number; readonly data: Uint8Array };

/** What the mock-up worker may be asked. A face that it has drawn it keeps under its key. */
export interface MockupQuestions {
  /** Draws a face and keeps it; gives what the page needs to show it. */
  readonly face: {
    readonly asks: {
      readonly key: string;
      readonly slab: SlabShape;
      readonly parts: Omit<FaceParts, 'wood'>;
      /** The photograph that bare wood is shown by, as a file, and its place; null without. */
      readonly photo: { readonly bytes: Uint8Array; readonly place: SlabPhoto } | null;
      readonly widthPx: number;
    };
    readonly gets: { readonly parts: SlabParts; readonly color: Pixels; readonly slopes: Pixels };
  };
  readonly still: {
    readonly asks: Look & {
      readonly key: string;
      readonly width: number;
      readonly height: number;
      readonly type: 'image/png' | 'image/jpeg';
    };
    readonly gets: Blob;
  };
  readonly clip: {
    readonly asks: Look & {
      readonly key: string;
      readonly kind: ClipKind;
      readonly width: number;
      readonly height: number;
      readonly seconds: number;
    };
    readonly gets: Uint8Array;
  };
  /** The whole burn as a clip. `faces`: keys of the faces before it and after each pass. */
  readonly 'burn-clip': {
    readonly asks: {
      readonly faces: readonly string[];
      readonly courses: readonly PassCourse[];
      readonly frame: BurnFrame;
      readonly lamp: Lamp;
      readonly stance: Stance;
      readonly width: number;
      readonly height: number;
      readonly seconds: number;
    };
    readonly gets: Uint8Array;
  };
  /** The client's file. `band`: keys of the faces at the ends of what is likely. */
  readonly page: {
    readonly asks: Look & {
      readonly key: string;
      readonly name: string;
      readonly facts: readonly string[];
      readonly maker: Maker;
      readonly band: { readonly lighter: string; readonly darker: string } | null;
    };
    readonly gets: Uint8Array;
  };
  readonly model: {
    readonly asks: { readonly key: string; readonly name: string; readonly kind: 'glb' | 'usdz' };
    readonly gets: Uint8Array;
  };
}
