import type { Ref } from 'react';
import type { PlacedBox } from '../../../physics/bed/placed-box.ts';
import type { SlabShape } from '../../mesh/outline.ts';
import type { Padding } from '../camera/camera-rig.ts';
import type { PicturePlace } from '../materials/paint-material.ts';
import type { WoodPhoto } from '../materials/wood-photo.ts';
import type { Lamp, Placing } from '../sight/sight-bus.ts';
import type { ProofSurface } from '../surface/gpu-surface.ts';
import type { Side } from '../surface/surface-slots.ts';
import type { FrameInfo } from './view-core.ts';

/** What one can ask of a mounted view. */
export interface SlabViewHandle {
  /** The current view as a PNG, without handles. `pixelRatio` (default 2): pixels of the PNG per CSS pixel. */
  capture(options?: { pixelRatio?: number }): Promise<Blob>;
}

/** A photograph that stands in for the picture on the slab. */
export interface StandIn {
  readonly image: ImageBitmap;
  readonly box: PlacedBox;
  readonly crop: 'rectangle' | 'oval';
}

export interface SlabViewProps {
  ref?: Ref<SlabViewHandle>;
  slab: SlabShape;
  /** Centre from the slab's centre, y growing towards the viewer (down the picture). */
  picture: PicturePlace;
  /**
   * The whole slab before anything is burned: `width × height` cells of `pitchMm`, centred on the slab's centre, over its bounding
   * box. Its colour is drawn wherever there is no burned picture; unlike a proof's, its alpha is the share of the place that is
   * painted (0 is bare wood, drawn with the wood's gloss). Its relief is light and shade of grain and film all over the slab; a proof's relief
   * is expected to hold the same. The second number of its relief is ignored. Null (the default) draws one even coat of `intactColor`.
   */
  ground?: ProofSurface | null;
  /**
   * The slab as it was photographed: bare wood on the face and all of the rim show it instead of the wood of the ground. The image stays
   * the caller's and open as long as it is given; the view keeps only a texture of it.
   */
  woodPhoto?: WoodPhoto | null;
  /** The picture is being placed by hand: a frame to drag lies over it. Null (the default): it is not. */
  placing?: Placing | null;
  /** The photograph as it will lie, half transparent, where there is no picture of it yet. The image stays the caller's. */
  standIn?: StandIn | null;
  /** Colour of the unburned stack where there is no ground, linear rgb, mirror reflection included. */
  intactColor: readonly [number, number, number];
  /** 60° gloss of the top coat and of the opened undercoat, GU; null if there is no such coat, and the wood lies open instead. */
  gloss60: number | null;
  underGloss60: number | null;
  /** 60° gloss of bare and of charred wood, GU: where nothing is painted and where the burn went through (scorch 1). Default 3. */
  woodGloss60?: number;
  surfaces: { readonly left: ProofSurface | null; readonly right: ProofSurface | null };
  /** Where the right surface starts, 0…1 across the slab as far as the stage shows it; null shows only the left one. */
  wipe: number | null;
  /** Shows the slab twice, the surfaces beside each other under one camera and one lamp; then there is no wipe. */
  sideBySide?: boolean;
  overlays: { readonly uncleared: boolean; readonly scorched: boolean };
  /** 1 is true to scale; up to about 40. */
  reliefExaggeration: number;
  sheen: 'satin' | 'matte';
  lamp: Lamp;
  onLampChange(lamp: Lamp): void;
  onWipeChange(wipe: number): void;
  /** The point of the picture under the pointer, from the picture's top-left, and whose surface is drawn there; null off the picture. */
  onProbe(point: { xMm: number; yMm: number; side: Side } | null): void;
  /** The view has a graphics context, for the first time or again after a loss: surfaces that lay in an earlier one only are gone. */
  onContext?(): void;
  /** After every drawn frame. */
  onFrame?(info: FrameInfo): void;
  /** A new value sends the camera home. */
  resetToken: number;
  /** A new value sends the camera to a place of the slab, from its centre, y growing towards the viewer, so near that `sizeMm` fill a good part of the stage. */
  lookAt?: { readonly xMm: number; readonly yMm: number; readonly sizeMm: number } | null;
  /** CSS colour of the page; the table is of the same grey and fades into it. */
  background: string;
  /** What covers the canvas at its edges, CSS pixels. */
  padding?: Padding;
  /** 'dome' puts the lamp out and lights evenly: every colour is then the proof's own colour. */
  lighting?: 'lamp' | 'dome';
}
