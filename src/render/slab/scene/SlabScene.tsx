import { useFrame, useThree } from '@react-three/fiber';
import {
  type RefObject,
  useEffect,
  useEffectEvent,
  useImperativeHandle,
  useLayoutEffect,
  useRef,
  useState,
} from 'react';
import type { PerspectiveCamera } from 'three';
import { attachGestures, type Held, type Place } from '../../gestures.ts';
import { NO_PADDING, type Orbit, panOrbit, pixelSizeMm, turnOrbit, zoomOrbit } from '../camera/camera-rig.ts';
import type { SightBus } from '../sight/sight-bus.ts';
import type { SlabViewProps } from './slab-view-props.ts';
import { ViewCore } from './view-core.ts';

/** Sanded bare wood, GU (estimate). */
const DEFAULT_WOOD_GLOSS60 = 3;

/** How long a graphics card may stay away before the view counts as gone, ms: browsers bring it back within a second, or not at all. */
const PATIENCE_MS = 5000;

/** Feeds the props to the scene, inside the canvas. Renders nothing of React's own. */
export function SlabScene(
  props: SlabViewProps & { bus: SightBus; stage: RefObject<HTMLDivElement | null>; onGone: () => void },
) {
  const { bus, stage, slab, picture, surfaces, ground, overlays, lamp, padding = NO_PADDING } = props;
  const gl = useThree((state) => state.gl);
  const scene = useThree((state) => state.scene);
  const camera = useThree((state) => state.camera);
  const size = useThree((state) => state.size);
  const invalidate = useThree((state) => state.invalidate);
  const [core, setCore] = useState<ViewCore | null>(null);
  const onFrame = useEffectEvent<NonNullable<SlabViewProps['onFrame']>>((info) => props.onFrame?.(info));
  const onContext = useEffectEvent(() => props.onContext?.());
  const onGone = useEffectEvent(() => props.onGone());
  const onPoint = useEffectEvent((point: { x: number; y: number } | null) => {
    const { picture: place, onProbe } = props;
    const hit = point && core?.pick(point.x, point.y);
    const xMm = hit ? hit.x - (place.centreXMm - place.widthMm / 2) : -1;
    const yMm = hit ? hit.z - (place.centreYMm - place.heightMm / 2) : -1;
    const inside = xMm >= 0 && yMm >= 0 && xMm < place.widthMm && yMm < place.heightMm;
    onProbe(inside && point && core ? { xMm, yMm, side: core.sideAt(point.x) } : null);
  });

  useLayoutEffect(() => {
    const made = new ViewCore(gl, scene, camera as PerspectiveCamera, () => invalidate(), bus);
    made.onFrame = (info) => onFrame(info);
    setCore(made);
    return () => made.dispose();
  }, [gl, scene, camera, invalidate, bus]);

  useEffect(() => {
    const element = stage.current;
    if (!core || !element) return;
    return attachGestures(
      element,
      heldView(core, (point) => onPoint(point)),
    );
  }, [core, stage]);

  useEffect(() => {
    if (core && !gl.getContext().isContextLost()) onContext();
  }, [gl, core]);

  useEffect(() => {
    const canvas = gl.domElement;
    let waiting: ReturnType<typeof setTimeout> | undefined;
    const onLost = (event: Event): void => {
      event.preventDefault();
      waiting = setTimeout(() => onGone(), PATIENCE_MS);
    };
    // three listens for the same event and must have its own state back first.
    const onRestored = (): void => {
      clearTimeout(waiting);
      queueMicrotask(() => {
        core?.restore();
        onContext();
      });
    };
    canvas.addEventListener('webglcontextlost', onLost);
    canvas.addEventListener('webglcontextrestored', onRestored);
    return () => {
      clearTimeout(waiting);
      canvas.removeEventListener('webglcontextlost', onLost);
      canvas.removeEventListener('webglcontextrestored', onRestored);
    };
  }, [gl, core]);

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
  const { width, height } = size;
  useLayoutEffect(
    () => core?.setStage({ width, height }, { left, right, top, bottom }),
    [core, width, height, left, right, top, bottom],
  );
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

  useFrame(() => core?.frame(), 1);
  return null;
}

const TURN_PER_PX = 0.0052;

const prefersStill = (): boolean => window.matchMedia('(prefers-reduced-motion: reduce)').matches;

/**
 * The camera in a hand: drag turns, right or middle or Shift-drag moves, two fingers zoom and move, the wheel zooms to the pointer, a
 * double tap flies closer (or home from close up); arrows turn, + and − zoom, 0 goes home.
 * @param onPoint the pointer is over this point of the canvas, or left it.
 */
function heldView(view: ViewCore, onPoint: (point: Place | null) => void): Held {
  const zoomOver = (x: number, z: number, factor: number, how?: { glide?: boolean; flight?: boolean }) =>
    view.steer(zoomOrbit(view.heading, 1 / factor, x, z, view.limits), how);
  const zoomAt = (at: Place, factor: number, how?: { glide?: boolean; flight?: boolean }): void => {
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
