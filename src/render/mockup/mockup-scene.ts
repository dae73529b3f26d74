import fragment from '../../../shaders/mockup.frag?raw';
import vertex from '../../../shaders/mockup.vert?raw';
import lightSource from '../../../shaders/mockup-light.glsl?raw';
import output from '../../../shaders/output.glsl?raw';
import type { SlabShape } from '../mesh/outline.ts';
import { type SlabParts, slabParts } from '../model/slab-parts.ts';
import { type Drawn, loadThing, turnedAway, unload } from './drawn.ts';
import { type Matrix, multiply, type Tile, turned, type Vector, WHOLE } from './gl/matrix.ts';
import { noisePicture } from './gl/noise.ts';
import { link, type Program } from './gl/program.ts';
import { SmoothTarget } from './gl/smooth-target.ts';
import { anisotropyOf, loadPicture, type Picture } from './gl/textures.ts';
import { type Lamp, type LightLevels, lampSample, lampWay, lightLevels, roomSample } from './lights.ts';
import { BATCH, bind, SeenLights } from './seen-lights.ts';
import { SETTINGS } from './settings/all.ts';
import { AT_HOME, eyeOf, RATIO, type Stance, sightOf } from './stance.ts';
import type { Setting, SettingName, Stuff, Thing } from './things/setting.ts';
import { slabCaster } from './things/slab-caster.ts';

/** What a slab's face looks like. */
export interface FaceLook {
  readonly color: Picture;
  /** Its relief as `face-slopes.ts` turns it into slopes. */
  readonly slopes: Picture;
}

/** Light samples that a finished picture is counted from. */
export interface Quality {
  readonly lamp: number;
  readonly room: number;
}
export const STILL_QUALITY: Quality = { lamp: 48, room: 72 };

/** Where a burn is: see the uniforms of shaders/mockup.frag. */
export interface BurnState {
  readonly row: readonly [number, number, number];
  readonly column: readonly [number, number, number];
  readonly atRow: number;
  readonly atColumn: number;
  readonly forwards: boolean;
  readonly firing: boolean;
}

/** Cells of the grid on which light is counted, along the longer side, at most. */
const LIGHT_GRID = { software: 800, card: 1000 };
const BACKDROP: Vector = [0.3, 0.285, 0.26];

/** A slab in a setting on a WebGL2 canvas. Draws when told; owns what it puts on the graphics card. */
export class MockupScene {
  readonly software: boolean;
  private readonly gl: WebGL2RenderingContext;
  private readonly seen: SeenLights;
  private readonly noise: WebGLTexture;
  private readonly smooth: SmoothTarget;
  private readonly programs = new Map<string, Program>();
  private slab: SlabShape | null = null;
  private parts: SlabParts | null = null;
  private setting: Setting | null = null;
  private name: SettingName = 'stand';
  private drawn: Drawn[] = [];
  private textures: { color: WebGLTexture; slopes: WebGLTexture } | null = null;
  private burned: { color: WebGLTexture; slopes: WebGLTexture } | null = null;
  private rim: { color: WebGLTexture; normal: WebGLTexture } | null = null;
  private lamp: Lamp = { azimuthRad: -0.8, elevationRad: 0.65 };
  private stance: Stance = AT_HOME;
  private levels: LightLevels | null = null;
  private stale = { sight: true, lamp: true };
  private ratio = RATIO;
  private burn: BurnState | null = null;
  /** Things that come and go without shadows, such as a head that moves. */
  private extras: Drawn[] = [];

  /** @throws Error with words for people if the browser cannot draw it. */
  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
    this.software = anisotropyOf(gl) === 1;
    this.seen = new SeenLights(gl, this.software ? 512 : 1024);
    this.smooth = new SmoothTarget(gl);
    this.noise = loadPicture(gl, noisePicture(), { srgb: false, repeats: 'both', plain: true });
  }

  /** `parts` are what `slabParts` makes of the slab, if somebody has them already. */
  setSlab(slab: SlabShape, parts: SlabParts = slabParts(slab)): void {
    const { gl } = this;
    this.slab = slab;
    this.parts = parts;
    const { rimMap } = this.parts;
    if (this.rim) for (const texture of Object.values(this.rim)) gl.deleteTexture(texture);
    const picture = (data: Uint8Array) => ({ width: rimMap.width, height: rimMap.height, data });
    this.rim = {
      color: loadPicture(gl, picture(rimMap.color), { srgb: true, repeats: 'along' }),
      normal: loadPicture(gl, picture(rimMap.normal), { srgb: false, repeats: 'along' }),
    };
    this.furnish();
  }

  setFace(look: FaceLook): void {
    this.dropFace('textures');
    this.textures = this.loadFace(look);
  }

  /** The face after the pass that is being burned; null shows the one face only. */
  setBurned(look: FaceLook | null): void {
    this.dropFace('burned');
    this.burned = look && this.loadFace(look);
  }

  setBurn(burn: BurnState | null): void {
    this.burn = burn;
  }

  private loadFace({ color, slopes }: FaceLook) {
    const { gl } = this;
    return {
      color: loadPicture(gl, color, { srgb: true, repeats: 'no' }),
      slopes: loadPicture(gl, slopes, { srgb: false, repeats: 'no' }),
    };
  }

  private dropFace(which: 'textures' | 'burned'): void {
    const found = this[which];
    if (found) for (const texture of Object.values(found)) this.gl.deleteTexture(texture);
    this[which] = null;
  }

  setSetting(name: SettingName): void {
    if (name === this.name && this.setting) return;
    this.name = name;
    this.furnish();
  }

  get reach(): Setting['reach'] | null {
    return this.setting?.reach ?? null;
  }

  setLamp(lamp: Lamp): void {
    if (lamp.azimuthRad === this.lamp.azimuthRad && lamp.elevationRad === this.lamp.elevationRad) return;
    this.lamp = lamp;
    this.stale.lamp = true;
  }

  setStance(stance: Stance): void {
    const before = this.stance;
    if ((Object.keys(stance) as (keyof Stance)[]).every((key) => stance[key] === before[key])) return;
    this.stance = stance;
    this.stale.sight = true;
  }

  /** Shows things besides, which take light and throw no shadow. */
  setExtras(things: readonly Thing[]): void {
    for (const one of this.extras) unload(one);
    this.extras = things.map((thing) => this.load(thing, false));
  }

  moveExtras(place: Matrix): void {
    this.extras = this.extras.map((extra) => ({ ...extra, place: multiply(place, extra.thing.place) }));
  }

  private load(thing: Thing, ofSlab: boolean): Drawn {
    return loadThing(this.gl, thing, ofSlab, this.software);
  }

  private furnish(): void {
    const { slab, parts } = this;
    if (!slab || !parts) return;
    for (const one of this.drawn) unload(one);
    this.setting = SETTINGS[this.name](slab);
    const place = this.setting.slabPlace;
    const wood = slab.woodColor;
    const ofSlab: Thing[] = [
      { mesh: parts.face, stuff: 'face', place, color: wood, alpha: 0.3, caster: slabCaster(slab) },
      { mesh: parts.rim, stuff: 'rim', place, color: wood, alpha: 0.75, caster: null },
      { mesh: parts.back, stuff: 'back', place, color: wood, alpha: 0.6, caster: null },
    ];
    // What is in front is drawn first, so that what it hides need not be shaded.
    this.drawn = [
      ...ofSlab.map((thing) => this.load(thing, true)),
      ...this.setting.things.map((thing) => this.load(thing, false)).reverse(),
    ];
    this.stale = { sight: true, lamp: true };
  }

  private bodies(): Drawn[] {
    const { turnRad } = this.stance;
    if (turnRad === 0) return this.drawn;
    const turn = turned(turnRad);
    return this.drawn.map((one) => (one.ofSlab ? { ...one, place: multiply(turn, one.place) } : one));
  }

  private eye(): { eye: Vector; target: Vector } {
    return eyeOf(this.setting!.sight, this.stance, this.ratio);
  }

  private sight(tile: Tile): Matrix {
    return sightOf(this.eye(), this.ratio, tile);
  }

  /** Shape of the picture, width over height, and how many pixels it has along its longer side. */
  setFrame(ratio: number, pixels: number): void {
    const grid = Math.max(
      64,
      Math.min(LIGHT_GRID[this.software ? 'software' : 'card'], Math.round(pixels * (this.software ? 0.5 : 1))),
    );
    const width = Math.round(ratio >= 1 ? grid : grid * ratio);
    const height = Math.round(ratio >= 1 ? grid / ratio : grid);
    if (ratio === this.ratio && width === this.seen.width && height === this.seen.height) return;
    this.ratio = ratio;
    this.seen.resize(width, height);
    this.stale.sight = true;
  }

  /** Throws away what was counted for another sight or lamp. */
  private settle(): void {
    const { setting } = this;
    if (!setting) return;
    if (this.stale.sight) {
      this.seen.look(this.bodies(), this.sight(WHOLE));
      this.levels = lightLevels(this.lamp, setting.slabPlace, setting.window);
    } else if (this.stale.lamp) {
      this.seen.forget('lamp');
      this.levels = lightLevels(this.lamp, setting.slabPlace, setting.window);
    }
    this.stale = { sight: false, lamp: false };
  }

  /** Light samples counted so far. */
  get counted(): number {
    const { lamp, window, room } = this.seen.counts;
    return lamp + window + room;
  }

  /** Counts a few more light samples; false once there are as many as wanted. */
  refine(quality: Quality): boolean {
    const { setting, seen } = this;
    if (!setting) return false;
    this.settle();
    const bodies = this.bodies();
    const roomDone = seen.counts.window + seen.counts.room;
    const lampDone = seen.counts.lamp;
    const ahead = lampDone / quality.lamp <= roomDone / quality.room ? 'lamp' : 'room';
    const [done, wanted] = ahead === 'lamp' ? [lampDone, quality.lamp] : [roomDone, quality.room];
    if (done >= wanted) return false;
    const way = lampWay(this.lamp, setting.slabPlace);
    const window = setting.window;
    const samples = Array.from({ length: Math.min(BATCH, wanted - done) }, (_, i) =>
      ahead === 'lamp' ? lampSample(way, done + i) : roomSample(window, done + i),
    );
    seen.add(samples, bodies, setting.ball);
    return true;
  }

  /** Draws with smooth edges onto a canvas that was opened without them. */
  drawSmooth(width: number, height: number): void {
    this.settle();
    this.smooth.begin(width, height);
    this.paint(width, height, WHOLE);
    this.smooth.show();
  }

  /** Draws a tile of the picture into the canvas, as large as the canvas is. */
  draw(width: number, height: number, tile: Tile = WHOLE): void {
    this.settle();
    this.gl.bindFramebuffer(this.gl.FRAMEBUFFER, null);
    this.paint(width, height, tile);
  }

  /** Draws quickly, with fewer triangles where software draws. */
  drawCoarse(width: number, height: number): void {
    this.settle();
    this.gl.bindFramebuffer(this.gl.FRAMEBUFFER, null);
    this.paint(width, height, WHOLE, true);
  }

  private paint(width: number, height: number, tile: Tile, coarse = false): void {
    const { gl, setting } = this;
    if (!setting || !this.textures || gl.isContextLost()) return;
    gl.viewport(0, 0, width, height);
    gl.enable(gl.DEPTH_TEST);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    gl.clearColor(0.58, 0.57, 0.55, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const sight = this.sight(tile);
    const { eye } = this.eye();
    for (const one of this.bodies())
      if (!turnedAway(one, eye))
        this.drawThing(coarse ? { ...one, buffers: one.coarse } : one, sight, width, height, tile);
    for (const one of this.extras) this.drawThing(one, sight, width, height, tile);
    gl.bindVertexArray(null);
  }

  private drawThing({ thing, buffers, place }: Drawn, sight: Matrix, width: number, height: number, tile: Tile): void {
    const { gl, seen, setting, levels } = this;
    const { use, at } = this.programOf(thing.stuff);
    use();
    gl.uniformMatrix4fv(at('uSight'), false, sight);
    gl.uniformMatrix4fv(at('uModel'), false, place);
    gl.uniform3fv(at('uColor'), thing.color);
    gl.uniform1f(at('uAlpha'), thing.alpha);
    gl.uniform1f(at('uBoardMm'), thing.boardMm ?? 4000);
    const { eye } = this.eye();
    const { lampPlace, lampReachMm, lamp, window, room, bounce } = levels!;
    gl.uniform3fv(at('uEye'), eye);
    gl.uniform3fv(at('uLampPlace'), lampPlace);
    gl.uniform1f(at('uLampReachMm'), lampReachMm);
    gl.uniform3fv(at('uLampLight'), lamp);
    const way = setting!.window;
    const length = Math.hypot(...way);
    gl.uniform3f(at('uWindowWay'), way[0] / length, way[1] / length, way[2] / length);
    gl.uniform3fv(at('uWindowLight'), window);
    gl.uniform3fv(at('uRoomLight'), room);
    gl.uniform3fv(at('uBounce'), bounce);
    const { counts } = seen;
    const each = (count: number, scale = 1) => (count > 0 ? scale / count : 0);
    gl.uniform4f(
      at('uSeenScale'),
      each(counts.lamp),
      each(counts.window),
      each(counts.room, 2),
      each(counts.room, 1.3),
    );
    gl.uniform4f(
      at('uTile'),
      tile.x * seen.width,
      tile.y * seen.height,
      (tile.width * seen.width) / width,
      (tile.height * seen.height) / height,
    );
    const { radius } = setting!.ball;
    gl.uniform2f(at('uFade'), radius * 2.2, radius * 7);
    gl.uniform3fv(at('uBackdrop'), BACKDROP);
    bind(gl, 0, gl.TEXTURE_2D, seen.light, at('uSeen'));
    bind(gl, 2, gl.TEXTURE_2D, seen.places, at('uPlaces'));
    bind(gl, 1, gl.TEXTURE_2D, seen.even, at('uEven'));
    bind(gl, 3, gl.TEXTURE_2D, this.noise, at('uNoise'));
    if (thing.stuff === 'face') this.bindFace(at);
    if (thing.stuff === 'rim' && this.rim) {
      bind(gl, 4, gl.TEXTURE_2D, this.rim.color, at('uRimColor'));
      bind(gl, 5, gl.TEXTURE_2D, this.rim.normal, at('uRimNormal'));
    }
    gl.bindVertexArray(buffers.vertices);
    gl.drawElements(gl.TRIANGLES, buffers.count, gl.UNSIGNED_INT, 0);
  }

  private bindFace(at: Program['at']): void {
    const { gl, textures, burned, burn } = this;
    bind(gl, 4, gl.TEXTURE_2D, textures!.color, at('uFaceColor'));
    bind(gl, 5, gl.TEXTURE_2D, textures!.slopes, at('uFaceSlopes'));
    if (!burned || !burn) return;
    bind(gl, 6, gl.TEXTURE_2D, burned.color, at('uBurnedColor'));
    bind(gl, 7, gl.TEXTURE_2D, burned.slopes, at('uBurnedSlopes'));
    gl.uniform4f(at('uRow'), ...burn.row, burn.atRow);
    gl.uniform4f(at('uColumn'), ...burn.column, burn.atColumn);
    gl.uniform2f(at('uRowDone'), burn.forwards ? 1 : 0, burn.firing ? 1 : 0);
  }

  private programOf(stuff: Stuff): Program {
    const burning = stuff === 'face' && this.burned !== null && this.burn !== null;
    const key = burning ? 'face-burn' : stuff;
    let program = this.programs.get(key);
    if (!program) {
      const defines = [stuff.toUpperCase(), ...(burning ? ['BURN'] : [])];
      program = link(this.gl, vertex, [lightSource, output, fragment].join('\n'), defines);
      this.programs.set(key, program);
    }
    return program;
  }

  dispose(): void {
    const { gl } = this;
    this.seen.dispose();
    this.smooth.dispose();
    for (const one of [...this.drawn, ...this.extras]) unload(one);
    this.dropFace('textures');
    this.dropFace('burned');
    if (this.rim) for (const texture of Object.values(this.rim)) gl.deleteTexture(texture);
    gl.deleteTexture(this.noise);
    for (const { program } of this.programs.values()) gl.deleteProgram(program);
  }
}
