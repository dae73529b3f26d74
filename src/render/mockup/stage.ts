import { attachGestures } from '../gestures.ts';
import { AT_HOME, type MockupScene, type Quality, STILL_QUALITY, type Stance } from './mockup-scene.ts';

/** Light samples while something moves, by whether software draws. */
const MOVING: Record<'software' | 'card', Quality> = { software: { lamp: 8, room: 8 }, card: { lamp: 24, room: 24 } };
const SETTLE_MS = 180;
/** Drawn pixels per CSS pixel in software: while something moves, and while the picture changes under light that stays. */
const COARSE = 0.6;
const HURRIED = 0.5;
/** Frames that follow each other slower than this are drawn smaller still, those faster than that larger again; ms, and how small at most. */
const SLOW_MS = 150;
const FAST_MS = 80;
const LEAST_PACE = 0.55;
const BUDGET_MS = 12;
/** How the canvas of a stage is opened: edges are smoothed by the scene, when there is time. */
export const STAGE_CONTEXT: WebGLContextAttributes = { antialias: false };

/**
 * Keeps a canvas drawn as its scene changes: coarsely while something moves, then better and better until it is a finished picture. Draws
 * nothing while nothing changes.
 */
export class MockupStage {
  stance: Stance = AT_HOME;
  private request = 0;
  /** What changed since the last frame, and when something last did; frames may take longer than it takes to settle. */
  private changed = { moved: false, hurried: false };
  /** Share of the size in software that keeps frames coming. */
  private pace = 1;
  private frameMs = -1e9;
  private movedMs = -1e9;
  private hurriedMs = -1e9;
  private readonly observer: ResizeObserver;
  private readonly canvas: HTMLCanvasElement;
  private readonly scene: MockupScene;
  /** After every drawn frame, with whether the picture is finished. */
  onDrawn: ((finished: boolean) => void) | null = null;

  constructor(canvas: HTMLCanvasElement, scene: MockupScene) {
    this.canvas = canvas;
    this.scene = scene;
    this.observer = new ResizeObserver(() => this.touch());
    this.observer.observe(canvas);
  }

  /** Moves the camera or the slab, within what the setting allows. */
  turnTo(stance: Stance): void {
    const { reach } = this.scene;
    if (!reach) return;
    const within = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value));
    const free = reach.azimuthRad === Number.POSITIVE_INFINITY;
    this.stance = {
      azimuthRad: free ? 0 : within(stance.azimuthRad, -reach.azimuthRad, reach.azimuthRad),
      turnRad: free ? stance.turnRad : 0,
      heightRad: within(stance.heightRad, reach.lowRad, reach.highRad),
      zoom: within(stance.zoom, 0.7, 5),
    };
    this.scene.setStance(this.stance);
    this.touch();
  }

  /** By so much to the right and up, as a hand would turn it. */
  turnBy(rightRad: number, upRad: number, zoom = 1): void {
    const free = this.scene.reach?.azimuthRad === Number.POSITIVE_INFINITY;
    const { azimuthRad, turnRad, heightRad } = this.stance;
    this.turnTo({
      azimuthRad: azimuthRad - (free ? 0 : rightRad),
      turnRad: turnRad + (free ? rightRad : 0),
      heightRad: heightRad + upRad,
      zoom: this.stance.zoom * zoom,
    });
  }

  /** Something changed: draw. */
  touch(): void {
    this.changed.moved = true;
    this.ask();
  }

  /** Something changed that casts no shadow: draw with the light that is there. */
  redraw(): void {
    this.changed.hurried = true;
    this.ask();
  }

  private ask(): void {
    this.request ||= requestAnimationFrame(() => {
      this.request = 0;
      this.frame();
    });
  }

  private frame(): void {
    const { canvas, scene } = this;
    const { software } = scene;
    const { clientWidth, clientHeight } = canvas;
    if (clientWidth === 0 || clientHeight === 0) return;
    const now = performance.now();
    if (this.changed.moved) this.movedMs = now;
    if (this.changed.hurried) this.hurriedMs = now;
    this.changed = { moved: false, hurried: false };
    const moving = now - this.movedMs < SETTLE_MS;
    const hurried = now - this.hurriedMs < SETTLE_MS && scene.counted > 0;
    const coarse = software && (hurried || moving);
    if (coarse) this.keepPace(now - this.frameMs);
    this.frameMs = now;
    const most = Math.min(2, software ? 1 : window.devicePixelRatio);
    const dense = coarse ? (hurried ? HURRIED : COARSE) * this.pace : most;
    const width = Math.max(1, Math.round(clientWidth * dense));
    const height = Math.max(1, Math.round(clientHeight * dense));
    if (canvas.width !== width || canvas.height !== height) {
      canvas.width = width;
      canvas.height = height;
    }
    const still = Math.max(clientWidth, clientHeight) * most;
    scene.setFrame(clientWidth / clientHeight, moving && software ? still * COARSE : still);
    let finished = false;
    if (moving) while (scene.refine(MOVING[software ? 'software' : 'card'])) {}
    else if (!hurried) {
      const end = performance.now() + BUDGET_MS;
      do finished = !scene.refine(STILL_QUALITY);
      while (!finished && performance.now() < end);
    }
    if (coarse) scene.drawCoarse(width, height);
    else scene.drawSmooth(width, height);
    this.onDrawn?.(finished);
    if (!finished) this.ask();
  }

  /** A longer wait than a slow frame's was no frame but a rest. */
  private keepPace(sinceMs: number): void {
    if (sinceMs > 10 * SLOW_MS) return;
    if (sinceMs > SLOW_MS) this.pace = Math.max(LEAST_PACE, this.pace * 0.85);
    else if (sinceMs < FAST_MS) this.pace = Math.min(1, this.pace * 1.05);
  }

  dispose(): void {
    cancelAnimationFrame(this.request);
    this.observer.disconnect();
  }
}

const KEY_RAD = 0.12;
const KEY_ZOOM = 1.15;
/** Turn of a drag across the whole picture. */
const DRAG_RAD = 2.6;

/** Lets a hand or keys turn what a stage shows; the wheel is the page's unless the picture has the focus. Returns what undoes it. */
export function attachTurning(element: HTMLElement, stage: MockupStage): () => void {
  return attachGestures(element, {
    turn(dx, dy) {
      const scale = DRAG_RAD / Math.max(200, element.clientWidth);
      stage.turnBy(dx * scale, dy * scale);
    },
    pinch: (_, __, apart) => stage.turnBy(0, 0, apart),
    zoom: (factor) => stage.turnBy(0, 0, factor),
    step: (right, down) => stage.turnBy(right * KEY_RAD, -down * KEY_RAD),
    zoomStep: (nearer) => stage.turnBy(0, 0, nearer ? KEY_ZOOM : 1 / KEY_ZOOM),
    home: () => stage.turnTo(AT_HOME),
    takesWheel: ({ ctrlKey }) => ctrlKey || document.activeElement === element,
  });
}
