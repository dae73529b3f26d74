import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DataTexture,
  GLSL3,
  LinearFilter,
  LinearMipmapLinearFilter,
  LinearMipmapNearestFilter,
  Mesh,
  type PerspectiveCamera,
  PlaneGeometry,
  RepeatWrapping,
  RGBAFormat,
  type Scene,
  ShaderMaterial,
  type Texture,
  UnsignedByteType,
  Vector3,
  type WebGLRenderer,
} from 'three';
import light from '../../../../shaders/light.glsl?raw';
import output from '../../../../shaders/output.glsl?raw';
import tableFragment from '../../../../shaders/table.frag?raw';
import tableVertex from '../../../../shaders/table.vert?raw';
import tableShadow from '../../../../shaders/table-shadow.glsl?raw';
import { faceMesh } from '../../mesh/face.ts';
import { periodicNoise, type SlabShape, slabHull, stretchHeights } from '../../mesh/outline.ts';
import { barkHeights, rimMesh } from '../../mesh/rim.ts';
import { CameraRig, type Orbit, type OrbitLimits, type Padding, pixelSizeMm } from '../camera/camera-rig.ts';
import {
  LAMP_HALF_SIZE,
  LightUniforms,
  PaintMaterial,
  type PicturePlace,
  RimMaterial,
} from '../materials/paint-material.ts';
import { type WoodPhoto, WoodPhotoUniforms } from '../materials/wood-photo.ts';
import { type Lamp, type SightBus, wipeToX } from '../sight/sight-bus.ts';
import type { SurfaceTextures } from '../surface/gpu-surface.ts';
import { type Side, SurfaceSlots } from '../surface/surface-slots.ts';

/** The tile of bark's heights as a texture. */
const createBarkTexture = (heights: Float32Array, anisotropy: number): DataTexture =>
  createSlopeTexture(heights, Math.sqrt(heights.length), anisotropy);

const SIZE = 256;

/** Lattice cells across the tile, and their share of the height. */
const OCTAVES = [
  [9, 1],
  [19, 0.6],
  [41, 0.34],
  [83, 0.16],
] as const;

/** Heights 0…1 of the unevenness of a sprayed coat, a tile that repeats. */
function coatHeights(): Float32Array {
  const height = new Float32Array(SIZE * SIZE);
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      let sum = 0;
      OCTAVES.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / SIZE) * cells, (y / SIZE) * cells, cells, cells, octave);
      });
      height[y * SIZE + x] = sum;
    }
  }
  return stretchHeights(height);
}

/** The tile as a texture. */
const createCoatTexture = (anisotropy: number): DataTexture => createSlopeTexture(coatHeights(), SIZE, anisotropy);

/** Drawn pixels per CSS pixel at most; one while something moves. */
export const MOST_DENSE = 2;

/** The table under the slab, with the slab's shadows. */
class TableMaterial {
  readonly material: ShaderMaterial;
  private readonly own;

  constructor(lights: LightUniforms, coat: Texture) {
    this.own = {
      uCoat: { value: coat },
      uTable: { value: new Vector3() },
      uBackground: { value: new Vector3() },
      uReach: { value: 1 },
      uLampSize: { value: LAMP_HALF_SIZE },
      uSlabSize: { value: new Vector3(1, 1, 1) },
      uOval: { value: 1 },
    };
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      uniforms: { ...this.own, ...lights.shared },
      vertexShader: tableVertex,
      fragmentShader: [light, output, tableShadow, tableFragment].join('\n'),
    });
  }

  setSlab(slab: SlabShape): void {
    this.own.uSlabSize.value.set(slab.widthMm / 2, slab.heightMm / 2, slab.thicknessMm);
    this.own.uOval.value = slab.shape === 'rectangle' ? 0 : 1;
    this.own.uReach.value = tableReach(slab);
  }

  /** A CSS colour; the table is the same grey, so that it fades into the page. */
  setBackground(background: string): void {
    const { r, g, b } = new Color(background);
    this.own.uBackground.value.set(r, g, b);
    this.own.uTable.value.set(r, g, b);
  }

  dispose(): void {
    this.material.dispose();
  }
}

/** Radius at which the table has faded into the background, mm. */
const tableReach = (slab: SlabShape): number => 2.6 * Math.max(slab.widthMm, slab.heightMm);

/** What the browser says draws WebGL; empty where it does not tell. */
function rendererName(gl: WebGLRenderingContext | WebGL2RenderingContext): string {
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  return String(gl.getParameter(info ? info.UNMASKED_RENDERER_WEBGL : gl.RENDERER) ?? '');
}

/** From a quick look to the finished proof. */
const FADE_MS = 260;

const isSoftwareRenderer = (name: string): boolean => /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);

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
    const show = (name: Side | 'ground', surface: SurfaceTextures | null) => {
      if (name === 'ground') this.paint.setGround(surface);
      else this.paint.setSurface(name, surface);
      this.invalidate();
    };
    this.slots = new SurfaceSlots(renderer, anisotropy, show, () => this.fade());
  }

  /** Has what is drawn now fade away over what is drawn next. */
  private fade(): void {
    const { domElement: drawn } = this.renderer;
    if (!this.slab || !drawn.parentElement || matchMedia('(prefers-reduced-motion: reduce)').matches) return;
    // Drawn and copied in one task, so the drawing buffer need not be kept.
    this.draw(this.renderer.getPixelRatio());
    const before = document.createElement('canvas');
    before.width = drawn.width;
    before.height = drawn.height;
    before.getContext('2d')?.drawImage(drawn, 0, 0);
    before.style.cssText = 'position:absolute;inset:0;width:100%;height:100%;pointer-events:none';
    drawn.parentElement.append(before);
    const fading = before.animate({ opacity: [1, 0] }, { duration: FADE_MS, easing: 'ease-out' });
    fading.onfinish = () => before.remove();
    fading.oncancel = () => before.remove();
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

  setStage(size: { width: number; height: number }, padding: Padding): void {
    this.rig.setStage(size, padding);
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
    const pixelRatio = this.resolution.pixelRatio(moving, window.devicePixelRatio);
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

/** The painted face: flat, with a small roll where the film ends. */
export function faceGeometry(slab: SlabShape): BufferGeometry {
  const { position, normal, index } = faceMesh(slab);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('normal', new BufferAttribute(normal, 3));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}

/** The rim, with the attributes `edge` and `above` of its mesh. */
export function rimGeometry(slab: SlabShape, barkHeights: Float32Array): BufferGeometry {
  const { position, normal, edge, above, index } = rimMesh(slab, barkHeights);
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('normal', new BufferAttribute(normal, 3));
  geometry.setAttribute('edge', new BufferAttribute(edge, 3));
  geometry.setAttribute('above', new BufferAttribute(above, 2));
  geometry.setIndex(new BufferAttribute(index, 1));
  return geometry;
}

/**
 * A repeating square tile of heights 0…1 as a texture: slopes east and south around 0.5, their mean square, and the height. Slopes
 * are ±1 at most: as shares of the tile's steepest.
 */
function createSlopeTexture(height: Float32Array, size: number, anisotropy: number): DataTexture {
  const at = (x: number, y: number): number => height[((y + size) % size) * size + ((x + size) % size)];
  const slopes = new Float32Array(size * size * 2);
  let steepest = 1e-9;
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const i = 2 * (y * size + x);
      slopes[i] = at(x + 1, y) - at(x - 1, y);
      slopes[i + 1] = at(x, y + 1) - at(x, y - 1);
      steepest = Math.max(steepest, Math.abs(slopes[i]), Math.abs(slopes[i + 1]));
    }
  }
  const data = new Uint8Array(size * size * 4);
  for (let i = 0; i < size * size; i++) {
    const east = slopes[2 * i] / steepest;
    const south = slopes[2 * i + 1] / steepest;
    data[4 * i] = Math.round(127.5 + 127.5 * east);
    data[4 * i + 1] = Math.round(127.5 + 127.5 * south);
    data[4 * i + 2] = Math.round(127.5 * (east * east + south * south));
    data[4 * i + 3] = Math.round(255 * height[i]);
  }
  const texture = new DataTexture(data, size, size, RGBAFormat, UnsignedByteType);
  texture.wrapS = RepeatWrapping;
  texture.wrapT = RepeatWrapping;
  texture.magFilter = LinearFilter;
  // Without anisotropy a software renderer draws, which pays for every texel.
  texture.minFilter = anisotropy > 1 ? LinearMipmapLinearFilter : LinearMipmapNearestFilter;
  texture.generateMipmaps = true;
  texture.anisotropy = anisotropy;
  texture.needsUpdate = true;
  return texture;
}
