import fragment from '../../../shaders/mockup.frag?raw';
import vertex from '../../../shaders/mockup.vert?raw';
import lightSource from '../../../shaders/mockup-light.glsl?raw';
import output from '../../../shaders/output.glsl?raw';
import {
  type Buffers,
  beginPicture,
  drawsInSoftware,
  loadMesh,
  loadPicture,
  type Picture,
  ProgramFamily,
  SmoothTarget,
} from '../engine/gl.ts';
import {
  frame,
  lookAt,
  type Matrix,
  moved,
  multiply,
  normalize,
  perspective,
  type Tile,
  turned,
  type Vector,
  WHOLE,
} from '../engine/matrix.ts';
import type { Lamp } from '../lamp.ts';
import { ringTriangles } from '../mesh/face.ts';
import { type Mesh, noiseTile, type Octaves, type SlabShape, slabOutline } from '../mesh/outline.ts';
import { type SlabParts, slabParts } from '../model/slab-parts.ts';
import { type LightLevels, lampSample, lampWay, lightLevels, roomSample } from './lights.ts';
import { BATCH, type Body, SeenLights } from './seen-lights.ts';
import { cupAt, OAK, shelf, wall } from './settings/furnish.ts';
import {
  block,
  type MakeSetting,
  type Setting,
  type SettingName,
  type Sight,
  sweep,
  type Thing,
} from './things/solids.ts';

/** How the camera stands, away from the setting's own place for it. */
export interface Stance {
  readonly azimuthRad: number;
  readonly heightRad: number;
  /** 1 is the setting's own distance; 2 is twice as near. */
  readonly zoom: number;
  /** Turns the slab itself, about the upright. */
  readonly turnRad: number;
}

export const AT_HOME: Stance = { azimuthRad: 0, heightRad: 0, zoom: 1, turnRad: 0 };

const FIELD_RAD = 0.42;

/** Width over height that the settings are laid out for. */
const RATIO = 4 / 3;

/** Where the camera is and what it looks at. */
interface Eye {
  readonly eye: Vector;
  readonly target: Vector;
}

function eyeOf(sight: Sight, { azimuthRad, heightRad, zoom }: Stance, ratio: number): Eye {
  const distance = (sight.distanceMm / zoom) * Math.max(1, RATIO / ratio);
  const azimuth = sight.azimuthRad + azimuthRad;
  const height = Math.min(1.55, sight.heightRad + heightRad);
  const { target } = sight;
  return {
    target,
    eye: [
      target[0] + distance * Math.sin(azimuth) * Math.cos(height),
      target[1] + distance * Math.sin(height),
      target[2] + distance * Math.cos(azimuth) * Math.cos(height),
    ],
  };
}

/** From the world to a tile of the picture. */
function sightOf({ eye, target }: Eye, ratio: number, tile: Tile): Matrix {
  const far = Math.hypot(eye[0] - target[0], eye[1] - target[1], eye[2] - target[2]);
  return multiply(perspective(FIELD_RAD, ratio, far * 0.1, far * 12, tile), lookAt(eye, target, [0, 1, 0]));
}

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
/** Where nothing is drawn, as it is shown. */
const BEHIND: Vector = [0.58, 0.57, 0.55];

/** A slab in a setting on a WebGL2 canvas. Draws when told; owns what it puts on the graphics card. */
export class MockupScene {
  readonly software: boolean;
  private readonly gl: WebGL2RenderingContext;
  private readonly seen: SeenLights;
  private readonly noise: WebGLTexture;
  private readonly smooth: SmoothTarget;
  private readonly programs: ProgramFamily;
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
    this.software = drawsInSoftware(gl);
    this.programs = new ProgramFamily(gl, vertex, [lightSource, output, fragment].join('\n'));
    this.seen = new SeenLights(gl, this.software ? 512 : 1024);
    this.smooth = new SmoothTarget(gl);
    this.noise = loadPicture(gl, noisePicture(), { srgb: false, repeats: 'both', reading: 'plain-levels' });
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
    beginPicture(gl, { width, height }, BEHIND);
    const { eye } = this.eye();
    const { seen, levels } = this;
    const { counts } = seen;
    const each = (count: number, scale = 1) => (count > 0 ? scale / count : 0);
    const { radius } = setting.ball;
    const scene = {
      uSight: this.sight(tile),
      uEye: eye,
      uLampPlace: levels!.lampPlace,
      uLampReachMm: levels!.lampReachMm,
      uLampLight: levels!.lamp,
      uWindowWay: normalize(setting.window),
      uWindowLight: levels!.window,
      uRoomLight: levels!.room,
      uBounce: levels!.bounce,
      uSeenScale: [each(counts.lamp), each(counts.window), each(counts.room, 2), each(counts.room, 1.3)],
      uTile: [
        tile.x * seen.width,
        tile.y * seen.height,
        (tile.width * seen.width) / width,
        (tile.height * seen.height) / height,
      ],
      uFade: [radius * 2.2, radius * 7],
      uBackdrop: BACKDROP,
      uSeen: seen.light,
      uPlaces: seen.places,
      uEven: seen.even,
      uNoise: this.noise,
      ...this.faceValues(),
      ...(this.rim && { uRimColor: this.rim.color, uRimNormal: this.rim.normal }),
    };
    const burns = this.burned !== null && this.burn !== null;
    const shown = this.bodies().filter((one) => !turnedAway(one, eye));
    for (const { thing, buffers, coarse: few, place } of [...shown, ...this.extras]) {
      const { stuff, color, alpha, boardMm = 4000 } = thing;
      const program = this.programs.with([stuff.toUpperCase(), ...(stuff === 'face' && burns ? ['BURN'] : [])]);
      program.use(scene, { uModel: place, uColor: color, uAlpha: alpha, uBoardMm: boardMm });
      (coarse ? few : buffers).draw();
    }
  }

  private faceValues() {
    const { textures, burned, burn } = this;
    const face = { uFaceColor: textures!.color, uFaceSlopes: textures!.slopes };
    if (!burned || !burn) return face;
    return {
      ...face,
      uBurnedColor: burned.color,
      uBurnedSlopes: burned.slopes,
      uRow: [...burn.row, burn.atRow],
      uColumn: [...burn.column, burn.atColumn],
      uRowDone: [burn.forwards ? 1 : 0, burn.firing ? 1 : 0],
    };
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
    this.programs.dispose();
  }
}

/** On a dark bed under the machine's head. */
const bed: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const size = Math.max(widthMm, heightMm * 1.25);
  return {
    things: [
      {
        mesh: block(9 * size, 20, 9 * size, 2),
        stuff: 'plaster',
        place: moved([0, -10, -2 * size]),
        color: [0.2, 0.195, 0.185],
        alpha: 0.5,
      },
    ],
    slabPlace: frame([1, 0, 0], [0, 1, 0], [0, 0, 1], [0, thicknessMm, 0]),
    sight: { target: [0, thicknessMm, 0], distanceMm: size * 2.55, azimuthRad: 0, heightRad: 1.02 },
    reach: { azimuthRad: Math.PI, lowRad: 0.4, highRad: 1.5 },
    window: [-0.5, 0.75, -0.42],
    ball: { centre: [0, 0, 0], radius: size * 0.85 },
  };
};

const TURN_RAD = 0.1;

/** Lying on a table beside a cup, which tells how large it is. */
const cupSetting: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const [c, s] = [Math.cos(TURN_RAD), Math.sin(TURN_RAD)];
  const span = Math.max(widthMm + 190, heightMm * 1.5, 330);
  return {
    things: [
      {
        mesh: block(4200, 40, 3400, 3),
        stuff: 'board',
        place: moved([0, -20, -600]),
        color: [OAK[0] * 1.02, OAK[1] * 1.04, OAK[2] * 1.1],
        alpha: 0.3,
        boardMm: 128,
      },
      ...cupAt([widthMm / 2 + 66, 0, -heightMm * 0.17], -0.55),
    ],
    slabPlace: frame([c, 0, -s], [0, 1, 0], [s, 0, c], [0, thicknessMm, 0]),
    sight: { target: [40, thicknessMm, -4], distanceMm: span * 1.86, azimuthRad: -0.06, heightRad: 0.86 },
    reach: { azimuthRad: Math.PI, lowRad: 0.42, highRad: 1.5 },
    window: [-0.72, 0.6, 0.34],
    ball: { centre: [30, 20, 0], radius: Math.max(widthMm, heightMm) * 0.5 + 170 },
  };
};

/** How far the slab sinks into the groove of its foot. */
const GROOVE_MM = 7;

const FOOT_MM = 20;

/** Upright on a small wooden foot before a plain background, to be turned. */
const stand: MakeSetting = ({ widthMm, heightMm, thicknessMm }) => {
  const y = heightMm / 2 + FOOT_MM - GROOVE_MM;
  const size = Math.max(widthMm, heightMm);
  return {
    things: [
      {
        mesh: sweep(24 * size, 9 * size, -3 * size, 2 * size, 8 * size),
        stuff: 'plaster',
        place: moved([0, 0, 0]),
        color: [0.56, 0.535, 0.5],
        alpha: 0.8,
      },
      {
        mesh: block(0.36 * widthMm, FOOT_MM, thicknessMm + 44, 3),
        stuff: 'board',
        place: moved([0, FOOT_MM / 2, 0]),
        color: [OAK[0] * 0.5, OAK[1] * 0.44, OAK[2] * 0.4],
        alpha: 0.35,
      },
    ],
    slabPlace: frame([1, 0, 0], [0, 0, 1], [0, -1, 0], [0, y, thicknessMm / 2]),
    sight: { target: [0, y * 0.97, 0], distanceMm: size * 2.75, azimuthRad: 0, heightRad: 0.12 },
    reach: { azimuthRad: Number.POSITIVE_INFINITY, lowRad: 0.03, highRad: 1.2 },
    window: [-0.66, 0.5, 0.56],
    ball: { centre: [0, y * 0.8, 0], radius: size * 0.85 },
  };
};

/** Invented places for a slab. */
const SETTINGS: Readonly<Record<SettingName, MakeSetting>> = { stand, shelf, cup: cupSetting, wall, bed };

const STEPS = 120;

/** How far it stays inside the slab, so that the slab's own surface does not lie in its shadow, mm. */
const INSET_MM = 1.4;

/** A plain prism a little within a slab: throws its shadow at a fraction of the price of all its bark. */
function slabCaster(slab: SlabShape): Mesh {
  const outline = slabOutline(slab, STEPS);
  const n = outline.length;
  const position = new Float32Array(6 * n);
  outline.forEach(({ x, z, normalX, normalZ }, i) => {
    const [px, pz] = [x - normalX * INSET_MM, z - normalZ * INSET_MM];
    position.set([px, -0.6, pz], 3 * i);
    position.set([px, -slab.thicknessMm + 0.4, pz], 3 * (n + i));
  });
  const top = ringTriangles(outline.map((_, i) => [position[3 * i], position[3 * i + 2]]));
  const index = [...top, ...top.map((i) => n + i)];
  for (let i = 0; i < n; i++) {
    const next = (i + 1) % n;
    index.push(i, n + i, next, next, n + i, n + next);
  }
  return { position, normal: new Float32Array(position.length), index: Uint32Array.from(index) };
}

/** A thing on the graphics card. */
interface Drawn extends Body {
  readonly thing: Thing;
  readonly ofSlab: boolean;
  /** With fewer triangles, for pictures in a hurry; by default the same. */
  readonly coarse: Buffers;
}

/** `hurried`: whether a rim is wanted with fewer triangles too. */
function loadThing(gl: WebGL2RenderingContext, thing: Thing, ofSlab: boolean, hurried: boolean): Drawn {
  const { mesh, caster, place } = thing;
  const buffers = loadMesh(gl, mesh);
  return {
    thing,
    ofSlab,
    buffers,
    coarse: hurried && thing.stuff === 'rim' ? loadMesh(gl, { ...mesh, index: coarseBand(mesh.index) }) : buffers,
    caster: caster === null ? null : caster ? loadMesh(gl, caster) : buffers,
    place,
  };
}

function unload({ buffers, caster, coarse }: Drawn): void {
  buffers.dispose();
  if (coarse !== buffers) coarse.dispose();
  if (caster !== buffers) caster?.dispose();
}

/** The face's border is rolled down by less than this. */
const FACE_ROLL_MM = 1;

/** Whether a flat side of the slab looks away from an eye. */
function turnedAway({ thing, place }: Drawn, eye: Vector): boolean {
  const side = place[4] * (eye[0] - place[12]) + place[5] * (eye[1] - place[13]) + place[6] * (eye[2] - place[14]);
  return thing.stuff === 'face' ? side < -FACE_ROLL_MM : thing.stuff === 'back' && side > FACE_ROLL_MM;
}

const EACH_COLUMN = 3;

const EACH_RING = 2;

/** The triangles of a band of rings of vertices (as `buildRings` lays them) with fewer rings and columns, for pictures in a hurry. */
export function coarseBand(index: Uint32Array): Uint32Array {
  const columns = index[1] - index[0];
  const rings = index.length / 6 / (columns - 1) + 1;
  const every = (count: number, step: number): number[] => [
    ...Array.from({ length: Math.ceil((count - 1) / step) }, (_, i) => i * step),
    count - 1,
  ];
  const [rows, across] = [every(rings, EACH_RING), every(columns, EACH_COLUMN)];
  const out: number[] = [];
  for (let r = 0; r + 1 < rows.length; r++) {
    for (let c = 0; c + 1 < across.length; c++) {
      const [a, b] = [rows[r] * columns, rows[r + 1] * columns];
      const [left, right] = [across[c], across[c + 1]];
      out.push(a + left, b + left, a + right, a + right, b + left, b + right);
    }
  }
  return Uint32Array.from(out);
}

const NOISE_PX = 256;

const slope = (rise: number): number => Math.min(255, Math.max(0, 128 + 700 * rise));

const OCTAVES: Octaves = [
  [6, 1],
  [13, 0.62],
  [29, 0.4],
  [61, 0.25],
  [117, 0.12],
];

/** A tile of noise that repeats: a height, its slopes right and down round 128, another height. */
function noisePicture(): Picture {
  const one = noiseTile(NOISE_PX, OCTAVES, 3);
  const other = noiseTile(NOISE_PX, OCTAVES, 40);
  const data = new Uint8Array(NOISE_PX * NOISE_PX * 4);
  const at = (x: number, y: number) => one[((y + NOISE_PX) % NOISE_PX) * NOISE_PX + ((x + NOISE_PX) % NOISE_PX)];
  for (let y = 0; y < NOISE_PX; y++) {
    for (let x = 0; x < NOISE_PX; x++) {
      const i = 4 * (y * NOISE_PX + x);
      data[i] = 255 * at(x, y);
      data[i + 1] = slope(at(x + 1, y) - at(x - 1, y));
      data[i + 2] = slope(at(x, y + 1) - at(x, y - 1));
      data[i + 3] = 255 * other[y * NOISE_PX + x];
    }
  }
  return { width: NOISE_PX, height: NOISE_PX, data };
}
