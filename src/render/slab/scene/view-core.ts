import { DataTexture, Mesh, type PerspectiveCamera, PlaneGeometry, type Scene, type WebGLRenderer } from 'three';
import { barkHeights } from '../../mesh/bark-heights.ts';
import { type SlabShape, slabHull } from '../../mesh/outline.ts';
import { CameraRig } from '../camera/camera-rig.ts';
import type { Padding } from '../camera/fit.ts';
import { type Orbit, type OrbitLimits, pixelSizeMm } from '../camera/orbit.ts';
import { createBarkTexture } from '../materials/bark-relief.ts';
import { createCoatTexture } from '../materials/coat-noise.ts';
import { LightUniforms } from '../materials/light-uniforms.ts';
import { PaintMaterial, type PicturePlace } from '../materials/paint-material.ts';
import { RimMaterial } from '../materials/rim-material.ts';
import { TableMaterial, tableReach } from '../materials/table-material.ts';
import { type WoodPhoto, WoodPhotoUniforms } from '../materials/wood-photo.ts';
import type { Lamp } from '../sight/lamp.ts';
import { type SightBus, wipeToX } from '../sight/sight-bus.ts';
import { type Side, SurfaceSlots } from '../surface/surface-slots.ts';
import { faceGeometry } from './face-geometry.ts';
import { isSoftwareRenderer, Resolution, rendererName } from './resolution.ts';
import { rimGeometry } from './rim-geometry.ts';

export interface FrameInfo {
  /** Time since the frame before, ms; 0 for the first of a movement. */
  readonly frameMs: number;
  readonly pixelRatio: number;
  readonly moving: boolean;
}

/** The scene and its frame loop, outside React. `SlabScene` feeds it props; it draws when `invalidate` is answered. */
export class ViewCore {
  readonly slots: SurfaceSlots;
  readonly software: boolean;
  private readonly lights = new LightUniforms();
  private readonly blank = new DataTexture(new Uint8Array(4), 1, 1);
  private readonly coat;
  private readonly barkHeights = barkHeights();
  private readonly bark;
  private readonly wood: WoodPhotoUniforms;
  private readonly paint: PaintMaterial;
  private readonly rim: RimMaterial;
  private readonly table: TableMaterial;
  private readonly face = new Mesh();
  private readonly edge = new Mesh();
  private readonly floor = new Mesh(new PlaneGeometry(2, 2).rotateX(-Math.PI / 2));
  private readonly resolution: Resolution;
  private readonly rig: CameraRig;
  private slab: SlabShape | null = null;
  private dpr: readonly [number, number] = [1, 2];
  private wipe: number | null = null;
  private sideBySide = false;
  private held = false;
  private lastMoveMs = -1e9;
  private lastFrameMs = -1e9;
  private settleTimer = 0;
  onFrame: ((info: FrameInfo) => void) | null = null;

  private readonly renderer: WebGLRenderer;
  private readonly scene: Scene;
  private readonly camera: PerspectiveCamera;
  private readonly invalidate: () => void;
  private readonly bus: SightBus;

  constructor(renderer: WebGLRenderer, scene: Scene, camera: PerspectiveCamera, invalidate: () => void, bus: SightBus) {
    this.renderer = renderer;
    this.scene = scene;
    this.camera = camera;
    this.rig = new CameraRig(camera);
    this.invalidate = invalidate;
    this.bus = bus;
    this.software = isSoftwareRenderer(rendererName(renderer.getContext()));
    this.resolution = new Resolution(this.software);
    const anisotropy = this.software ? 1 : Math.min(8, renderer.capabilities.getMaxAnisotropy());
    this.blank.needsUpdate = true;
    this.coat = createCoatTexture(anisotropy);
    this.wood = new WoodPhotoUniforms(this.blank, anisotropy);
    this.paint = new PaintMaterial(this.lights, this.wood, this.coat, this.blank);
    this.bark = createBarkTexture(this.barkHeights, anisotropy);
    this.rim = new RimMaterial(this.lights, this.wood, this.coat, this.bark);
    this.table = new TableMaterial(this.lights, this.coat);
    this.face.material = this.paint.material;
    this.edge.material = this.rim.material;
    this.floor.material = this.table.material;
    this.floor.renderOrder = 2;
    for (const mesh of [this.face, this.edge, this.floor]) {
      mesh.frustumCulled = false;
      scene.add(mesh);
    }
    this.slots = new SurfaceSlots(renderer, anisotropy, (name, surface) => {
      if (name === 'ground') this.paint.setGround(surface);
      else this.paint.setSurface(name, surface);
      this.invalidate();
    });
  }

  setSlab(slab: SlabShape): void {
    this.face.geometry.dispose();
    this.edge.geometry.dispose();
    this.face.geometry = faceGeometry(slab);
    this.edge.geometry = rimGeometry(slab, this.barkHeights);
    this.rim.setSlab(slab);
    this.table.setSlab(slab);
    const reach = tableReach(slab);
    this.floor.position.y = -slab.thicknessMm;
    this.floor.scale.set(reach * 2, 1, reach * 2);
    this.slab = slab;
    this.rig.setHull(slabHull(slab));
    this.invalidate();
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
    this.lights.set(lamp, lighting, slab ? Math.max(slab.widthMm, slab.heightMm) : 300);
    this.touch();
  }

  setBackground(background: string): void {
    this.table.setBackground(background);
    this.renderer.setClearColor(background, 1);
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

  setStage(size: { width: number; height: number }, padding: Padding, dpr: readonly [number, number]): void {
    this.rig.setStage(size, padding);
    this.dpr = dpr;
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
    if (!this.slab || this.renderer.getContext().isContextLost()) return;
    const now = performance.now();
    const frameMs = Math.min(1000, now - this.lastFrameMs);
    this.lastFrameMs = now;
    if (this.rig.advance(Math.min(frameMs, 100) / 1000)) this.touch();
    const moving = this.held || now - this.lastMoveMs < this.resolution.settleMs;
    if (moving) this.resolution.note(frameMs);
    const pixelRatio = this.resolution.pixelRatio(moving, window.devicePixelRatio, this.dpr);
    this.draw(pixelRatio);
    this.onFrame?.({ frameMs: frameMs >= 600 ? 0 : frameMs, pixelRatio, moving });
  }

  private draw(pixelRatio: number): void {
    const { renderer, rig } = this;
    if (renderer.getPixelRatio() !== pixelRatio) renderer.setPixelRatio(pixelRatio);
    rig.place();
    const state = rig.sight();
    const drawnPerPx = renderer.domElement.width / rig.size.width;
    this.paint.setPixel(pixelSizeMm(rig.orbit, rig.size.height) / drawnPerPx);
    this.paint.use('left');
    if (this.sideBySide) this.drawHalves(rig.seam);
    else if (this.wipe !== null && this.paint.shows('right')) this.drawHalves(wipeToX(this.wipe, state));
    else renderer.render(this.scene, this.camera);
    this.bus.emit(state);
  }

  /** Each side of the wipe or of the seam is drawn with its own surface, so no pixel pays for both. */
  private drawHalves(x: number): void {
    const { renderer } = this;
    const { width, height } = this.rig.size;
    renderer.setScissorTest(true);
    renderer.setScissor(0, 0, x, height);
    renderer.render(this.scene, this.camera);
    this.paint.use('right');
    if (this.sideBySide) this.rig.place(1);
    renderer.setScissor(x, 0, width - x, height);
    renderer.render(this.scene, this.camera);
    renderer.setScissorTest(false);
  }

  /** The current view as a PNG; drawn and read in one task, so the drawing buffer need not be kept. */
  capture(pixelRatio: number): Promise<Blob> {
    this.draw(pixelRatio);
    return new Promise((resolve, reject) => {
      this.renderer.domElement.toBlob((blob) => {
        this.invalidate();
        if (blob) resolve(blob);
        else reject(new Error('The picture of the slab could not be written.'));
      }, 'image/png');
    });
  }

  restore(): void {
    this.slots.restore();
    this.invalidate();
  }

  dispose(): void {
    window.clearTimeout(this.settleTimer);
    this.slots.dispose();
    for (const mesh of [this.face, this.edge, this.floor]) {
      this.scene.remove(mesh);
      mesh.geometry.dispose();
    }
    for (const material of [this.paint, this.rim, this.table]) material.dispose();
    this.wood.dispose();
    this.coat.dispose();
    this.bark.dispose();
    this.blank.dispose();
  }
}
