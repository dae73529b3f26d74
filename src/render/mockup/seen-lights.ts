import vertex from '../../../shaders/mockup.vert?raw';
import depthVertex from '../../../shaders/mockup-depth.vert?raw';
import evenFragment from '../../../shaders/mockup-even.frag?raw';
import placesFragment from '../../../shaders/mockup-places.frag?raw';
import seenFragment from '../../../shaders/mockup-seen.frag?raw';
import { type Buffers, drawCells, EVERY_CELL, emptyTexture, link, type Program, Target } from '../engine/gl.ts';
import { frame, type Matrix, multiply, parallel, type Vector } from '../engine/matrix.ts';
import type { LightSample } from './lights.ts';

/** Shadow maps at a time: many, because each time all cells are read and written; few while something moves. */
export const BATCH = 24;
const SMALL_BATCH = 8;
/** From clip space to a texture's coordinates and depths. */
const FROM_CLIP = frame([0.5, 0, 0], [0, 0.5, 0], [0, 0, 0.5], [0.5, 0.5, 0.5]);

/** What throws and takes shadows. */
export interface Body {
  readonly buffers: Buffers;
  /** A simpler shape that throws its shadow; null throws none. */
  readonly caster: Buffers | null;
  readonly place: Matrix;
}

type Kind = 'lamp' | 'room';

/**
 * Counts, place by place of what the camera sees, how much of lamp, window and room is seen from there: many light samples with a shadow
 * map each, added up on a grid coarser than the picture.
 */
export class SeenLights {
  /** Sums over light samples: see `uShare` in shaders/mockup-seen.frag. */
  light: WebGLTexture | null = null;
  places: WebGLTexture | null = null;
  /** Where light may be blended between cells: see shaders/mockup-even.frag. */
  even: WebGLTexture | null = null;
  private normals: WebGLTexture | null = null;
  private depth: WebGLRenderbuffer | null = null;
  private readonly maps: WebGLTexture;
  private readonly target: Target;
  private readonly programs: { depth: Program; places: Program; even: Program; seen: Program; few: Program };
  width = 0;
  height = 0;
  readonly counts = { lamp: 0, window: 0, room: 0 };

  private readonly gl: WebGL2RenderingContext;
  private readonly mapSize: number;

  /** @throws Error if the browser cannot draw into textures of floating-point numbers. */
  constructor(gl: WebGL2RenderingContext, mapSize: number) {
    this.gl = gl;
    this.mapSize = mapSize;
    if (!gl.getExtension('EXT_color_buffer_float')) throw new Error('This browser cannot add up light.');
    this.programs = {
      depth: link(gl, depthVertex, 'void main() {}'),
      places: link(gl, vertex, placesFragment),
      even: link(gl, EVERY_CELL, evenFragment),
      seen: seenProgram(gl, BATCH),
      few: seenProgram(gl, SMALL_BATCH),
    };
    this.target = new Target(gl);
    this.maps = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D_ARRAY, this.maps);
    gl.texStorage3D(gl.TEXTURE_2D_ARRAY, 1, gl.DEPTH_COMPONENT16, mapSize, mapSize, BATCH);
    // Many samples smooth what one leaves jagged: software can do without the blending.
    for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER])
      gl.texParameteri(gl.TEXTURE_2D_ARRAY, name, mapSize < 1024 ? gl.NEAREST : gl.LINEAR);
    for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T])
      gl.texParameteri(gl.TEXTURE_2D_ARRAY, name, gl.CLAMP_TO_EDGE);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_COMPARE_MODE, gl.COMPARE_REF_TO_TEXTURE);
    gl.texParameteri(gl.TEXTURE_2D_ARRAY, gl.TEXTURE_COMPARE_FUNC, gl.LEQUAL);
  }

  resize(width: number, height: number): void {
    if (width === this.width && height === this.height) return;
    this.free();
    const { gl } = this;
    this.width = width;
    this.height = height;
    this.places = emptyTexture(gl, gl.RGBA32F, this);
    this.normals = emptyTexture(gl, gl.RGBA16F, this);
    this.even = emptyTexture(gl, gl.R8, this);
    this.light = emptyTexture(gl, gl.RGBA16F, this, 'blended');
    this.depth = gl.createRenderbuffer();
    gl.bindRenderbuffer(gl.RENDERBUFFER, this.depth);
    gl.renderbufferStorage(gl.RENDERBUFFER, gl.DEPTH_COMPONENT24, width, height);
  }

  /** Notes what the camera sees and forgets what was counted. */
  look(bodies: readonly Body[], sight: Matrix): void {
    const { gl, target } = this;
    target.into(this.places, this.normals);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, this.depth);
    gl.viewport(0, 0, this.width, this.height);
    gl.clearColor(0, 0, 0, 0);
    gl.enable(gl.DEPTH_TEST);
    gl.depthMask(true);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    drawBodies(this.programs.places, bodies, sight);
    gl.framebufferRenderbuffer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.RENDERBUFFER, null);
    target.into(this.even);
    this.programs.even.use(this.cells);
    drawCells(gl, this.width, this.height);
    this.forget('lamp');
    this.forget('room');
  }

  /** What the camera sees in each cell. */
  private get cells() {
    return { uPlaces: this.places, uNormals: this.normals };
  }

  forget(kind: Kind): void {
    const { gl } = this;
    this.target.into(this.light);
    gl.clearColor(0, 0, 0, 0);
    gl.colorMask(kind === 'lamp', kind === 'room', kind === 'room', kind === 'room');
    gl.clear(gl.COLOR_BUFFER_BIT);
    gl.colorMask(true, true, true, true);
    if (kind === 'lamp') this.counts.lamp = 0;
    else {
      this.counts.window = 0;
      this.counts.room = 0;
    }
  }

  /** Adds up to `BATCH` samples, all of the lamp or none of it. */
  add(samples: readonly LightSample[], bodies: readonly Body[], ball: { centre: Vector; radius: number }): void {
    const { gl, target, maps, mapSize } = this;
    const throwing = bodies.flatMap(({ caster, place }) => (caster ? [{ buffers: caster, place }] : []));
    const ways = samples.map(({ toward }) => parallel(toward, ball.centre, ball.radius));
    target.into();
    gl.viewport(0, 0, mapSize, mapSize);
    gl.scissor(1, 1, mapSize - 2, mapSize - 2);
    gl.disable(gl.BLEND);
    gl.enable(gl.DEPTH_TEST);
    ways.forEach((way, layer) => {
      gl.framebufferTextureLayer(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, maps, 0, layer);
      gl.clear(gl.DEPTH_BUFFER_BIT);
      gl.enable(gl.SCISSOR_TEST);
      drawBodies(this.programs.depth, throwing, way);
      gl.disable(gl.SCISSOR_TEST);
    });
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, null, 0);
    this.addSeen(samples, ways, (2 * ball.radius) / mapSize);
  }

  private addSeen(samples: readonly LightSample[], ways: readonly Matrix[], texelMm: number): void {
    const { gl } = this;
    const small = samples.length <= SMALL_BATCH;
    const program = small ? this.programs.few : this.programs.seen;
    const most = small ? SMALL_BATCH : BATCH;
    const flat = new Float32Array(16 * most);
    const toward = new Float32Array(3 * most);
    const share = new Float32Array(4 * most);
    samples.forEach((sample, i) => {
      flat.set(multiply(FROM_CLIP, ways[i]), 16 * i);
      toward.set(sample.toward, 3 * i);
      share.set(sample.of === 'lamp' ? [1, 0, 0, 0] : sample.of === 'window' ? [0, 1, 0, 0] : [0, 0, 1, 1], 4 * i);
      this.counts[sample.of]++;
    });
    this.target.into(this.light);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.ONE, gl.ONE);
    program.use(this.cells, { uMaps: this.maps, uToMap: flat, uToward: toward, uShare: share, uTexelMm: texelMm });
    drawCells(gl, this.width, this.height);
    gl.disable(gl.BLEND);
  }

  private free(): void {
    const { gl } = this;
    for (const texture of [this.places, this.normals, this.even, this.light]) gl.deleteTexture(texture);
    gl.deleteRenderbuffer(this.depth);
  }

  dispose(): void {
    const { gl } = this;
    this.free();
    gl.deleteTexture(this.maps);
    this.target.dispose();
    for (const program of Object.values(this.programs)) program.dispose();
  }
}

function drawBodies(program: Program, bodies: readonly Pick<Body, 'buffers' | 'place'>[], sight: Matrix): void {
  for (const { buffers, place } of bodies) {
    program.use({ uSight: sight, uModel: place });
    buffers.draw();
  }
}

/** Written out sample by sample: software renderers are slow to look uniforms up by a number that is not known beforehand. */
function seenProgram(gl: WebGL2RenderingContext, batch: number): Program {
  const each = Array.from({ length: batch }, (_, i) => `sum += SEEN_FROM(${i});`).join(' ');
  return link(gl, EVERY_CELL, seenFragment, [`BATCH ${batch}`, `ADD_ALL ${each}`]);
}
