import type { Mesh } from '../../mesh/mesh.ts';
import type { SlabShape } from '../../mesh/outline.ts';
import type { UvMesh } from '../gl/buffers.ts';
import type { Matrix, Vector } from '../gl/matrix.ts';

/** How a thing answers light; each has a part of `shaders/mockup.frag`. */
export type Stuff = 'plaster' | 'board' | 'glaze' | 'matte' | 'pages' | 'liquid' | 'face' | 'rim' | 'back' | 'glow';

export interface Thing {
  readonly mesh: UvMesh;
  readonly stuff: Stuff;
  readonly place: Matrix;
  /** Linear rgb. */
  readonly color: Vector;
  /** GGX roughness. */
  readonly alpha: number;
  /** Width of the boards that it is glued up from; default one board. */
  readonly boardMm?: number;
  /** A simpler shape that throws its shadow; null throws none; by default the mesh itself. */
  readonly caster?: Mesh | null;
}

/** Where the camera can go: round a target, the front of the setting being azimuth 0. */
export interface Sight {
  readonly target: Vector;
  readonly distanceMm: number;
  readonly azimuthRad: number;
  readonly heightRad: number;
}

export interface Setting {
  /** Everything but the slab. */
  readonly things: readonly Thing[];
  /** Where the slab is. Its face looks along the second column. */
  readonly slabPlace: Matrix;
  readonly sight: Sight;
  /** Farthest the camera may go from its place: azimuth, and lowest and highest. */
  readonly reach: { readonly azimuthRad: number; readonly lowRad: number; readonly highRad: number };
  /** Where the light of the window comes from. */
  readonly window: Vector;
  /** Middle and radius of what takes and throws shadows. */
  readonly ball: { readonly centre: Vector; readonly radius: number };
}

export type SettingName = 'stand' | 'shelf' | 'cup' | 'wall' | 'bench';

export type MakeSetting = (slab: SlabShape) => Setting;
