import { type Buffers, beginPicture, drawsInSoftware, loadMesh } from '../engine/gl.ts';
import type { Lamp } from '../lamp.ts';
import { faceMesh } from '../mesh/face.ts';
import { type SlabShape, slabHull } from '../mesh/outline.ts';
import { barkHeights, rimMesh } from '../mesh/rim.ts';
import { type CameraRig, NO_PADDING, type Orbit, type OrbitLimits, type Padding, pixelSizeMm } from './camera-rig.ts';
import {
  lightValues,
  loadCoat,
  loadSlopes,
  PaintMaterial,
  PhotographedWood,
  type PicturePlace,
  RimMaterial,
  TableMaterial,
  tableReach,
  type WoodPhoto,
} from './materials.ts';
import { type SightBus, wipeToX } from './sight-bus.ts';
import type { SurfaceTextures } from './surface/gpu-surface.ts';
import { type Side, SurfaceSlots } from './surface/surface-slots.ts';

/** Drawn pixels per CSS pixel at most; one while something moves. */
const MOST_DENSE = 2;

const SLOW_MS = 48;

const FAST_MS = 20;

const SMALLEST = 0.34;

const FRAMES_PER_STEP = 3;

const SETTLE_MS = 170;

/**
 * Decides how many pixels to draw: as many as the screen has when nothing moves, fewer while something does, and fewer still while
 * frames come late. It never decides on a single late frame.
 */
export class Resolution {
  private scale: number;
  private frames = 0;
  private total = 0;
  private recentMs = 16;

  constructor(software: boolean) {
    this.scale = software ? 0.42 : 1;
  }

  /** Tells the time since the last frame of a movement, ms; gaps between movements do not count. */
  note(frameMs: number): void {
    if (!(frameMs > 0) || frameMs > 600) return;
    this.recentMs += (frameMs - this.recentMs) * 0.3;
    this.frames += 1;
    this.total += frameMs;
    if (this.frames < FRAMES_PER_STEP) return;
    const mean = this.total / this.frames;
    if (mean > SLOW_MS) this.scale = Math.max(SMALLEST, this.scale * Math.max(0.7, Math.sqrt(SLOW_MS / mean)));
    else if (mean < FAST_MS) this.scale = Math.min(1, this.scale * 1.12);
    this.frames = 0;
    this.total = 0;
  }

  /** After this long without movement the picture is drawn in full; longer where frames are slow, or it would come in between. */
  get settleMs(): number {
    return Math.max(SETTLE_MS, 3 * this.recentMs);
  }

  pixelRatio(moving: boolean, devicePixelRatio: number): number {
    return moving ? this.scale : Math.min(MOST_DENSE, Math.max(1, devicePixelRatio));
  }
}

export interface FrameInfo {
  /** Time since the frame before, ms; 0 for the first of a movement. */
  readonly frameMs: number;
  readonly pixelRatio: number;
  readonly moving: boolean;
}

interface Meshes {
  readonly face: Buffers;
  readonly rim: Buffers;
  readonly table: Buffers;
}

/** From a quick look to the finished proof. */
const FADE_MS = 260;

/** The scene and its frame loop, outside React: all that belongs to one graphics context. `SlabScene` feeds it props; it draws when something changed. */
export class ViewCore {
  readonly slots: SurfaceSlots;
  private readonly coat: WebGLTexture;
  private readonly bark: WebGLTexture;
  private readonly barkHeights = barkHeights();
  private readonly wood: PhotographedWood;
  private readonly paint: PaintMaterial;
  private readonly rim: RimMaterial;
  private readonly table: TableMaterial;
  private readonly resolution: Resolution;
  private meshes: Meshes | null = null;
  private lights = lightValues({ azimuthRad: 0, elevationRad: 1 }, 'dome', 1);
  private background: readonly [number, number, number] = [0, 0, 0];
  private slab: SlabShape | null = null;
  private padding: Padding = NO_PADDING;
  private wipe: number | null = null;
  private sideBySide = false;
  private held = false;
  private lastMoveMs = -1e9;
  private lastFrameMs = -1e9;
  private settleTimer = 0;
  private request = 0;
  private readonly observer: ResizeObserver;
  /** Of the last frame. */
  private pixelRatio = 1;
  onFrame: ((info: FrameInfo) => void) | null = null;

  private readonly gl: WebGL2RenderingContext;
  private readonly canvas: HTMLCanvasElement;
  private readonly rig: CameraRig;
  private readonly bus: SightBus;

  constructor(gl: WebGL2RenderingContext, canvas: HTMLCanvasElement, rig: CameraRig, bus: SightBus) {
    this.gl = gl;
    this.canvas = canvas;
    this.rig = rig;
    this.bus = bus;
    this.resolution = new Resolution(drawsInSoftware(gl));
    this.coat = loadCoat(gl);
    this.bark = loadSlopes(gl, this.barkHeights);
    this.wood = new PhotographedWood(gl);
    this.paint = new PaintMaterial(gl);
    this.rim = new RimMaterial(gl);
    this.table = new TableMaterial(gl);
    const show = (name: Side | 'ground', surface: SurfaceTextures | null) => {
      if (name === 'ground') this.paint.setGround(surface);
      else this.paint.setSurface(name, surface);
      this.invalidate();
    };
    this.slots = new SurfaceSlots(gl, show, () => this.fade());
    this.observer = new ResizeObserver(() => this.setPadding(this.padding));
    this.observer.observe(canvas);
  }

  /** Draws with the browser's next frame. */
  private readonly invalidate = (): void => {
    this.request ||= requestAnimationFrame(() => {
      this.request = 0;
      this.frame();
    });
  };

  /** Has what is drawn now fade away over what is drawn next. */
  private fade(): void {
    const { canvas } = this;
    if (!this.slab || !canvas.parentElement || matchMedia('(prefers-reduced-motion: reduce)').matches) return;
    // Drawn and copied in one task, so the drawing buffer need not be kept.
    this.draw(this.pixelRatio);
    const before = document.createElement('canvas');
    before.width = canvas.width;
    before.height = canvas.height;
    before.getContext('2d')?.drawImage(canvas, 0, 0);
    before.style.cssText = 'position:absolute;inset:0;width:100%;height:100%;pointer-events:none';
    canvas.parentElement.append(before);
    const fading = before.animate({ opacity: [1, 0] }, { duration: FADE_MS, easing: 'ease-out' });
    fading.onfinish = () => before.remove();
    fading.oncancel = () => before.remove();
  }

  setSlab(slab: SlabShape): void {
    const { gl } = this;
    this.dropMeshes();
    this.meshes = {
      face: loadMesh(gl, faceMesh(slab)),
      rim: loadMesh(gl, rimMesh(slab, this.barkHeights)),
      table: loadMesh(gl, tableMesh(slab)),
    };
    this.rim.setSlab(slab);
    this.table.setSlab(slab);
    this.slab = slab;
    this.rig.setHull(slabHull(slab));
    this.invalidate();
  }

  private dropMeshes(): void {
    if (this.meshes) for (const mesh of Object.values(this.meshes)) mesh.dispose();
  }

  setWoodPhoto(photo: WoodPhoto | null): void {
    this.wood.set(photo);
    this.paint.setWoodPhoto(photo !== null);
    this.rim.setWoodPhoto(photo !== null);
    this.invalidate();
  }

  setPicture(picture: PicturePlace): void {
    this.paint.setPicture(picture);
    this.invalidate();
  }

  setCoat(...coat: Parameters<PaintMaterial['setCoat']>): void {
    this.paint.setCoat(...coat);
    this.invalidate();
  }

  setShow(show: { uncleared: boolean; scorched: boolean; reliefExaggeration: number }): void {
    this.paint.setMarks(show);
    this.paint.setRelief(show.reliefExaggeration);
    this.invalidate();
  }

  setLight(lamp: Lamp, lighting: 'lamp' | 'dome'): void {
    const slab = this.slab;
    this.lights = lightValues(lamp, lighting, slab ? Math.max(slab.widthMm, slab.heightMm) : 300);
    this.touch();
  }

  /** As #rrggbb. */
  setBackground(background: string): void {
    const code = Number.parseInt(background.slice(1), 16);
    this.background = [(code >> 16) / 255, ((code >> 8) & 255) / 255, (code & 255) / 255];
    this.table.setBackground(this.background);
    this.invalidate();
  }

  setWipe(wipe: number | null): void {
    this.wipe = wipe;
    this.touch();
  }

  /** Shows the two surfaces beside each other instead of under a wipe. */
  setSideBySide(sideBySide: boolean): void {
    this.sideBySide = sideBySide;
    this.rig.setSplit(sideBySide);
    this.touch();
  }

  /** What covers the canvas at its edges; its size is its own. */
  setPadding(padding: Padding): void {
    this.padding = padding;
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (width > 0 && height > 0) this.rig.setStage({ width, height }, padding);
    this.invalidate();
  }

  get limits(): OrbitLimits {
    return this.rig.limits;
  }

  get heading(): Orbit {
    return this.rig.goal;
  }

  get canvasHeight(): number {
    return this.rig.size.height;
  }

  /** Sends the camera somewhere under the hand; `glide: false` goes there at once. */
  steer(orbit: Orbit, how?: { glide?: boolean; flight?: boolean }): void {
    this.rig.steer(orbit, how);
    this.touch();
  }

  goHome(glide: boolean): void {
    this.rig.goHome(glide);
    this.touch();
  }

  /** Flies to a place of the slab, so near that `sizeMm` fill a good part of what is free of the stage. */
  lookAt(x: number, z: number, sizeMm: number, glide: boolean): void {
    this.rig.lookAt(x, z, sizeMm, glide);
    this.touch();
  }

  pick(xPx: number, yPx: number): { x: number; z: number } | null {
    return this.rig.pick(xPx, yPx);
  }

  /** Whose surface is drawn at a place of the canvas. */
  sideAt(xPx: number): Side {
    if (this.sideBySide) return xPx > this.rig.seam ? 'right' : 'left';
    return this.wipe !== null && this.paint.shows('right') && xPx > wipeToX(this.wipe, this.bus.current)
      ? 'right'
      : 'left';
  }

  /** A hand is on the slab: what is drawn meanwhile is part of one movement, however slow. */
  hold(held: boolean): void {
    this.held = held;
    this.touch();
  }

  /** Something moves: draw, coarser for the moment, and again in full a little later. */
  touch(): void {
    this.lastMoveMs = performance.now();
    window.clearTimeout(this.settleTimer);
    this.settleTimer = window.setTimeout(this.invalidate, this.resolution.settleMs + 20);
    this.invalidate();
  }

  /** Draws one frame. */
  frame(): void {
    if (!this.slab || this.canvas.clientWidth === 0 || this.gl.isContextLost()) return;
    const now = performance.now();
    const frameMs = Math.min(1000, now - this.lastFrameMs);
    this.lastFrameMs = now;
    if (this.rig.advance(Math.min(frameMs, 100) / 1000)) this.touch();
    const moving = this.held || now - this.lastMoveMs < this.resolution.settleMs;
    if (moving) this.resolution.note(frameMs);
    this.pixelRatio = this.resolution.pixelRatio(moving, window.devicePixelRatio);
    this.draw(this.pixelRatio);
    this.onFrame?.({ frameMs: frameMs >= 600 ? 0 : frameMs, pixelRatio: this.pixelRatio, moving });
  }

  private draw(pixelRatio: number): void {
    const { canvas, rig } = this;
    const width = Math.floor(rig.size.width * pixelRatio);
    const height = Math.floor(rig.size.height * pixelRatio);
    if (canvas.width !== width) canvas.width = width;
    if (canvas.height !== height) canvas.height = height;
    const state = rig.sight();
    this.paint.setPixel(pixelSizeMm(rig.orbit, rig.size.height) / (width / rig.size.width));
    const seam = this.sideBySide
      ? rig.seam
      : this.wipe !== null && this.paint.shows('right')
        ? wipeToX(this.wipe, state)
        : null;
    if (seam === null) this.drawSide('left', 0, width);
    else {
      // Each side of the wipe or of the seam is drawn with its own surface, so no pixel pays for both.
      const at = Math.round(seam * pixelRatio);
      this.drawSide('left', 0, at);
      this.drawSide('right', at, width);
    }
    this.bus.emit(state);
  }

  /** Draws what one side shows, between two columns of the canvas. */
  private drawSide(side: Side, from: number, to: number): void {
    const { gl, canvas, meshes, rig } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(from, 0, to - from, canvas.height);
    gl.enable(gl.CULL_FACE);
    beginPicture(gl, canvas, this.background);
    this.paint.use(side);
    const scene = {
      uSight: rig.sightOf(side === 'right' && this.sideBySide ? 1 : 0),
      uEye: rig.eye,
      uCoat: this.coat,
      uBark: this.bark,
      ...this.lights,
      ...this.wood.values,
    };
    this.paint.draw(meshes!.face, scene);
    this.rim.draw(meshes!.rim, scene);
    this.table.draw(meshes!.table, scene);
    gl.disable(gl.SCISSOR_TEST);
  }

  /** The current view as a PNG; drawn and read in one task, so the drawing buffer need not be kept. */
  capture(pixelRatio: number): Promise<Blob> {
    this.draw(pixelRatio);
    return new Promise((resolve, reject) => {
      this.canvas.toBlob((blob) => {
        this.invalidate();
        if (blob) resolve(blob);
        else reject(new Error('The picture of the slab could not be written.'));
      }, 'image/png');
    });
  }

  dispose(): void {
    window.clearTimeout(this.settleTimer);
    cancelAnimationFrame(this.request);
    this.observer.disconnect();
    this.slots.dispose();
    this.dropMeshes();
    for (const one of [this.paint, this.rim, this.table, this.wood]) one.dispose();
    this.gl.deleteTexture(this.coat);
    this.gl.deleteTexture(this.bark);
  }
}

/** A square under the slab, as far as the table is seen and further. */
function tableMesh(slab: SlabShape) {
  const far = 2 * tableReach(slab);
  const corners = [
    [-far, -far],
    [far, -far],
    [-far, far],
    [far, far],
  ];
  return {
    position: Float32Array.from(corners.flatMap(([x, z]) => [x, -slab.thicknessMm, z])),
    index: Uint32Array.of(0, 2, 1, 2, 3, 1),
  };
}
