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
import {
  NO_PADDING,
  type Orbit,
  type OrbitLimits,
  panOrbit,
  pixelSizeMm,
  turnOrbit,
  zoomOrbit,
} from '../camera/camera-rig.ts';
import type { SightBus } from '../sight/sight-bus.ts';
import type { SlabViewProps } from './slab-view-props.ts';
import { ViewCore } from './view-core.ts';

/** Sanded bare wood, GU (estimate). */
const DEFAULT_WOOD_GLOSS60 = 3;

const DEFAULT_DPR = [1, 2] as const;

/** How long a graphics card may stay away before the view counts as gone, ms: browsers bring it back within a second, or not at all. */
const PATIENCE_MS = 5000;

/** Feeds the props to the scene, inside the canvas. Renders nothing of React's own. */
export function SlabScene(
  props: SlabViewProps & { bus: SightBus; stage: RefObject<HTMLDivElement | null>; onGone: () => void },
) {
  const {
    bus,
    stage,
    slab,
    picture,
    surfaces,
    ground,
    overlays,
    lamp,
    padding = NO_PADDING,
    dpr = DEFAULT_DPR,
  } = props;
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
    return attachGestures(element, core, { onPoint: (point) => onPoint(point) });
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
  const [least, most] = dpr;
  const { width, height } = size;
  useLayoutEffect(
    () => core?.setStage({ width, height }, { left, right, top, bottom }, [least, most]),
    [core, width, height, left, right, top, bottom, least, most],
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

/** What the gestures steer. */
interface Steered {
  readonly heading: Orbit;
  readonly limits: OrbitLimits;
  readonly canvasHeight: number;
  steer(orbit: Orbit, how?: { glide?: boolean; flight?: boolean }): void;
  goHome(glide: boolean): void;
  /** Whether a pointer is pressed on the canvas and has moved. */
  hold(held: boolean): void;
  pick(xPx: number, yPx: number): { x: number; z: number } | null;
}

interface GestureCallbacks {
  /** The pointer is over this point of the canvas (CSS pixels), or left it. */
  onPoint(point: { x: number; y: number } | null): void;
}

const TURN_PER_PX = 0.0052;

const TAP_PX = 6;

const TAP_MS = 400;

const DOUBLE_TAP_MS = 350;

const prefersStill = (): boolean => window.matchMedia('(prefers-reduced-motion: reduce)').matches;

/**
 * Pointer, wheel and keyboard on the canvas: drag turns, right or middle or Shift-drag moves, two fingers zoom and move, the wheel
 * zooms to the pointer, a double tap flies closer (or home from close up); arrows turn, + and − zoom, 0 goes home.
 * @returns a function that takes the listeners off again.
 */
function attachGestures(element: HTMLElement, view: Steered, callbacks: GestureCallbacks): () => void {
  const fingers = new Map<number, { x: number; y: number }>();
  let down = { x: 0, y: 0, time: 0, moved: false, panning: false };
  let lastTap = { x: 0, y: 0, time: -1e9 };

  const place = (event: MouseEvent): { x: number; y: number } => {
    const box = element.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  };
  const zoomAt = (point: { x: number; y: number }, factor: number, how: { glide?: boolean; flight?: boolean } = {}) => {
    const hit = view.pick(point.x, point.y) ?? { x: view.heading.targetX, z: view.heading.targetZ };
    view.steer(zoomOrbit(view.heading, factor, hit.x, hit.z, view.limits), how);
  };
  const spread = (): { x: number; y: number; size: number } => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, size: Math.max(1, Math.hypot(a.x - b.x, a.y - b.y)) };
  };

  const onDown = (event: PointerEvent): void => {
    const point = place(event);
    element.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, point);
    if (fingers.size > 1) {
      down.moved = true;
      return;
    }
    down = { ...point, time: event.timeStamp, moved: false, panning: event.button !== 0 || event.shiftKey };
  };

  const onMove = (event: PointerEvent): void => {
    const point = place(event);
    const before = fingers.get(event.pointerId);
    if (!before) {
      if (event.pointerType !== 'touch') callbacks.onPoint(point);
      return;
    }
    if (fingers.size === 2) {
      const old = spread();
      fingers.set(event.pointerId, point);
      const now = spread();
      const moved = panOrbit(view.heading, now.x - old.x, now.y - old.y, pixelSizeMm(view.heading, view.canvasHeight));
      view.steer(moved, { glide: false });
      zoomAt(now, old.size / now.size, { glide: false });
      return;
    }
    if (fingers.size > 2) return;
    if (!down.moved && Math.hypot(point.x - down.x, point.y - down.y) < TAP_PX) return;
    if (!down.moved) view.hold(true);
    down.moved = true;
    fingers.set(event.pointerId, point);
    const dx = point.x - before.x;
    const dy = point.y - before.y;
    if (down.panning) view.steer(panOrbit(view.heading, dx, dy, pixelSizeMm(view.heading, view.canvasHeight)));
    else view.steer(turnOrbit(view.heading, -dx * TURN_PER_PX, -dy * TURN_PER_PX));
  };

  const onUp = (event: PointerEvent): void => {
    if (!fingers.delete(event.pointerId)) return;
    if (fingers.size === 0 && down.moved) view.hold(false);
    if (down.moved || event.type === 'pointercancel' || event.timeStamp - down.time > TAP_MS) return;
    const point = place(event);
    const again =
      event.timeStamp - lastTap.time < DOUBLE_TAP_MS && Math.hypot(point.x - lastTap.x, point.y - lastTap.y) < 24;
    lastTap = { ...point, time: again ? -1e9 : event.timeStamp };
    callbacks.onPoint(point);
    if (!again) return;
    if (view.heading.distanceMm < view.limits.farthestMm / 12) view.goHome(!prefersStill());
    else zoomAt(point, 0.3, { glide: !prefersStill(), flight: true });
  };

  const onLeave = (event: PointerEvent): void => {
    if (event.pointerType !== 'touch') callbacks.onPoint(null);
  };

  const onWheel = (event: WheelEvent): void => {
    event.preventDefault();
    const lines = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 16 : event.deltaMode === 2 ? 400 : 1;
    const delta = Math.max(-240, Math.min(240, event.deltaY * lines));
    zoomAt(place(event), Math.exp(delta * (event.ctrlKey ? 0.008 : 0.0016)));
  };

  const onKey = (event: KeyboardEvent): void => {
    if (event.target !== element || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = event.shiftKey ? 0.3 : 0.08;
    const turns: Record<string, [number, number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const turn = turns[event.key];
    const glide = !prefersStill();
    const centre = { x: view.heading.targetX, z: view.heading.targetZ };
    if (turn) view.steer(turnOrbit(view.heading, turn[0], turn[1]), { glide });
    else if (event.key === '+' || event.key === '=')
      view.steer(zoomOrbit(view.heading, 0.8, centre.x, centre.z, view.limits), { glide });
    else if (event.key === '-' || event.key === '_')
      view.steer(zoomOrbit(view.heading, 1.25, centre.x, centre.z, view.limits), { glide });
    else if (event.key === '0') view.goHome(glide);
    else return;
    event.preventDefault();
  };

  const onMenu = (event: Event): void => event.preventDefault();

  element.addEventListener('pointerdown', onDown);
  element.addEventListener('pointermove', onMove);
  element.addEventListener('pointerup', onUp);
  element.addEventListener('pointercancel', onUp);
  element.addEventListener('pointerleave', onLeave);
  element.addEventListener('wheel', onWheel, { passive: false });
  element.addEventListener('keydown', onKey);
  element.addEventListener('contextmenu', onMenu);
  return () => {
    element.removeEventListener('pointerdown', onDown);
    element.removeEventListener('pointermove', onMove);
    element.removeEventListener('pointerup', onUp);
    element.removeEventListener('pointercancel', onUp);
    element.removeEventListener('pointerleave', onLeave);
    element.removeEventListener('wheel', onWheel);
    element.removeEventListener('keydown', onKey);
    element.removeEventListener('contextmenu', onMenu);
  };
}
