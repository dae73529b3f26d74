import {
  type Ref,
  type RefObject,
  useEffect,
  useEffectEvent,
  useImperativeHandle,
  useLayoutEffect,
  useRef,
  useState,
} from 'react';
import type { PlacedBox } from '../../physics/bed/placed-box.ts';
import { keepDrawing } from '../engine/gl.ts';
import { attachGestures, type CanvasPoint, type Held } from '../gestures.ts';
import type { Lamp } from '../lamp.ts';
import type { SlabShape } from '../mesh/outline.ts';
import {
  CameraRig,
  NO_PADDING,
  type Orbit,
  type Padding,
  panOrbit,
  pixelSizeMm,
  turnOrbit,
  zoomOrbit,
} from './camera-rig.ts';
import type { PicturePlace, WoodPhoto } from './materials.ts';
import type { Placing, SightBus } from './sight-bus.ts';
import type { ProofSurface } from './surface/gpu-surface.ts';
import type { Side } from './surface/surface-slots.ts';
import { type FrameInfo, ViewCore } from './view-core.ts';

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

/** Sanded bare wood, GU (estimate). */
const DEFAULT_WOOD_GLOSS60 = 3;

const CONTEXT: WebGLContextAttributes = {
  antialias: true,
  alpha: false,
  stencil: false,
  powerPreference: 'high-performance',
};

/** Fills the stage with a canvas and feeds the props to what is drawn there. Renders nothing of React's own. */
export function SlabScene(
  props: SlabViewProps & {
    bus: SightBus;
    stage: RefObject<HTMLDivElement | null>;
    onFault: (message: string) => void;
  },
) {
  const { bus, stage, slab, picture, surfaces, ground, overlays, lamp, padding = NO_PADDING } = props;
  // It outlives a graphics context: one that comes back finds the camera where it was.
  const [rig] = useState(() => new CameraRig());
  const [core, setCore] = useState<ViewCore | null>(null);
  const onFrame = useEffectEvent<NonNullable<SlabViewProps['onFrame']>>((info) => props.onFrame?.(info));
  const onContext = useEffectEvent(() => props.onContext?.());
  const onFault = useEffectEvent((message: string) => props.onFault(message));
  const onPoint = useEffectEvent((point: { x: number; y: number } | null) => {
    const { picture: place, onProbe } = props;
    const hit = point && core?.pick(point.x, point.y);
    const xMm = hit ? hit.x - (place.centreXMm - place.widthMm / 2) : -1;
    const yMm = hit ? hit.z - (place.centreYMm - place.heightMm / 2) : -1;
    const inside = xMm >= 0 && yMm >= 0 && xMm < place.widthMm && yMm < place.heightMm;
    onProbe(inside && point && core ? { xMm, yMm, side: core.sideAt(point.x) } : null);
  });

  useLayoutEffect(() => {
    const begin = (gl: WebGL2RenderingContext, canvas: HTMLCanvasElement) => {
      const made = new ViewCore(gl, canvas, rig, bus);
      made.onFrame = (info) => onFrame(info);
      setCore(made);
      return () => made.dispose();
    };
    return keepDrawing(stage.current!, CONTEXT, begin, (message) => onFault(message));
  }, [stage, rig, bus]);

  useEffect(() => {
    const element = stage.current;
    if (!core || !element) return;
    return attachGestures(
      element,
      heldView(core, (point) => onPoint(point)),
    );
  }, [core, stage]);

  useEffect(() => {
    if (core) onContext();
  }, [core]);

  useImperativeHandle(
    props.ref,
    () => ({
      capture: ({ pixelRatio = 2 } = {}) =>
        core ? core.capture(pixelRatio) : Promise.reject(new Error('The slab is not drawn yet.')),
    }),
    [core],
  );

  const { shape, outlineMm, widthMm, heightMm, thicknessMm, edge, cut, pithXMm, pithYMm, ringWidthMm } = slab;
  const [woodR, woodG, woodB] = slab.woodColor;
  useLayoutEffect(() => {
    const woodColor = [woodR, woodG, woodB] as const;
    core?.setSlab({
      shape,
      outlineMm,
      widthMm,
      heightMm,
      thicknessMm,
      woodColor,
      edge,
      cut,
      pithXMm,
      pithYMm,
      ringWidthMm,
    });
  }, [
    core,
    shape,
    outlineMm,
    widthMm,
    heightMm,
    thicknessMm,
    woodR,
    woodG,
    woodB,
    edge,
    cut,
    pithXMm,
    pithYMm,
    ringWidthMm,
  ]);
  const { left, right, top, bottom } = padding;
  useLayoutEffect(() => core?.setPadding({ left, right, top, bottom }), [core, left, right, top, bottom]);
  const { centreXMm, centreYMm, widthMm: pictureWidth, heightMm: pictureHeight, crop } = picture;
  useLayoutEffect(
    () => core?.setPicture({ centreXMm, centreYMm, widthMm: pictureWidth, heightMm: pictureHeight, crop }),
    [core, centreXMm, centreYMm, pictureWidth, pictureHeight, crop],
  );
  const woodPhoto = props.woodPhoto ?? null;
  useLayoutEffect(() => core?.setWoodPhoto(woodPhoto), [core, woodPhoto]);
  const [intactR, intactG, intactB] = props.intactColor;
  const { gloss60, underGloss60, woodGloss60 = DEFAULT_WOOD_GLOSS60, sheen } = props;
  useLayoutEffect(
    () => core?.setCoat([intactR, intactG, intactB], { top: gloss60, under: underGloss60, wood: woodGloss60 }, sheen),
    [core, intactR, intactG, intactB, gloss60, underGloss60, woodGloss60, sheen],
  );
  const { uncleared, scorched } = overlays;
  const { reliefExaggeration } = props;
  useLayoutEffect(
    () => core?.setShow({ uncleared, scorched, reliefExaggeration }),
    [core, uncleared, scorched, reliefExaggeration],
  );
  const { azimuthRad, elevationRad } = lamp;
  const lighting = props.lighting ?? 'lamp';
  // biome-ignore lint/correctness/useExhaustiveDependencies: the lamp's distance goes with the slab's size
  useLayoutEffect(
    () => core?.setLight({ azimuthRad, elevationRad }, lighting),
    [core, azimuthRad, elevationRad, lighting, widthMm, heightMm],
  );
  const { background } = props;
  useLayoutEffect(() => core?.setBackground(background), [core, background]);
  const wipe = surfaces.right ? props.wipe : null;
  useLayoutEffect(() => core?.setWipe(wipe), [core, wipe]);
  const sideBySide = props.sideBySide ?? false;
  useLayoutEffect(() => core?.setSideBySide(sideBySide), [core, sideBySide]);
  useEffect(() => core?.slots.set('ground', ground ?? null), [core, ground]);
  useEffect(() => core?.slots.set('left', surfaces.left), [core, surfaces.left]);
  useEffect(() => core?.slots.set('right', surfaces.right), [core, surfaces.right]);

  const { resetToken } = props;
  const seenToken = useRef(resetToken);
  useEffect(() => {
    if (seenToken.current === resetToken) return;
    seenToken.current = resetToken;
    core?.goHome(!prefersStill());
  }, [core, resetToken]);

  const lookAt = props.lookAt ?? null;
  const seenPlace = useRef(lookAt);
  useEffect(() => {
    if (!lookAt || seenPlace.current === lookAt) return;
    seenPlace.current = lookAt;
    core?.lookAt(lookAt.xMm, lookAt.yMm, lookAt.sizeMm, !prefersStill());
  }, [core, lookAt]);

  return null;
}

const TURN_PER_PX = 0.0052;

const prefersStill = (): boolean => window.matchMedia('(prefers-reduced-motion: reduce)').matches;

/**
 * The camera in a hand: drag turns, right or middle or Shift-drag moves, two fingers zoom and move, the wheel zooms to the pointer, a
 * double tap flies closer (or home from close up); arrows turn, + and − zoom, 0 goes home.
 * @param onPoint the pointer is over this point of the canvas, or left it.
 */
function heldView(view: ViewCore, onPoint: (point: CanvasPoint | null) => void): Held {
  const zoomOver = (x: number, z: number, factor: number, how?: { glide?: boolean; flight?: boolean }) =>
    view.steer(zoomOrbit(view.heading, 1 / factor, x, z, view.limits), how);
  const zoomAt = (at: CanvasPoint, factor: number, how?: { glide?: boolean; flight?: boolean }): void => {
    const hit = view.pick(at.x, at.y) ?? { x: view.heading.targetX, z: view.heading.targetZ };
    zoomOver(hit.x, hit.z, factor, how);
  };
  const panned = (dx: number, dy: number): Orbit =>
    panOrbit(view.heading, dx, dy, pixelSizeMm(view.heading, view.canvasHeight));
  return {
    turn: (dx, dy) => view.steer(turnOrbit(view.heading, -dx * TURN_PER_PX, -dy * TURN_PER_PX)),
    pan: (dx, dy) => view.steer(panned(dx, dy)),
    pinch(from, to, apart) {
      view.steer(panned(to.x - from.x, to.y - from.y), { glide: false });
      zoomAt(to, apart, { glide: false });
    },
    zoom: (factor, at) => zoomAt(at, factor),
    step(right, down, far) {
      const step = far ? 0.3 : 0.08;
      view.steer(turnOrbit(view.heading, right * step, down * step), { glide: !prefersStill() });
    },
    zoomStep: (nearer) =>
      zoomOver(view.heading.targetX, view.heading.targetZ, nearer ? 1.25 : 0.8, { glide: !prefersStill() }),
    home: () => view.goHome(!prefersStill()),
    takesWheel: () => true,
    tap(at, again) {
      onPoint(at);
      if (!again) return;
      if (view.heading.distanceMm < view.limits.farthestMm / 12) view.goHome(!prefersStill());
      else zoomAt(at, 1 / 0.3, { glide: !prefersStill(), flight: true });
    },
    point: onPoint,
    hold: (held) => view.hold(held),
  };
}
