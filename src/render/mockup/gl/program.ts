import { type Mesh, periodicNoise, stretchHeights } from '../../mesh/outline.ts';

/** A linked program with its uniforms by name. */
export interface Program {
  readonly program: WebGLProgram;
  /** Makes it the one that draws. */
  use(): void;
  at(name: string): WebGLUniformLocation | null;
}

/** Attributes, the same in all programs. */
const ATTRIBUTES = ['position', 'normal', 'uv', 'tangent'] as const;

/**
 * Compiles and links.
 * @throws Error with the driver's words if it cannot.
 */
export function link(
  gl: WebGL2RenderingContext,
  vertex: string,
  fragment: string,
  defines: readonly string[] = [],
): Program {
  const program = gl.createProgram();
  const head = `#version 300 es\nprecision highp float;\nprecision highp int;\nprecision highp sampler2DArrayShadow;\n${defines.map((name) => `#define ${name}\n`).join('')}`;
  for (const [kind, source] of [
    [gl.VERTEX_SHADER, vertex],
    [gl.FRAGMENT_SHADER, fragment],
  ] as const) {
    const shader = gl.createShader(kind)!;
    gl.shaderSource(shader, head + source);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
    if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS) && !gl.isContextLost())
      throw new Error(`A shader does not compile: ${gl.getShaderInfoLog(shader)}`);
    gl.deleteShader(shader);
  }
  ATTRIBUTES.forEach((name, i) => {
    gl.bindAttribLocation(program, i, name);
  });
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS) && !gl.isContextLost())
    throw new Error(`A shader does not link: ${gl.getProgramInfoLog(program)}`);
  const known = new Map<string, WebGLUniformLocation | null>();
  return {
    program,
    use() {
      // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
      gl.useProgram(program);
    },
    at(name) {
      if (!known.has(name)) known.set(name, gl.getUniformLocation(program, name));
      return known.get(name) ?? null;
    },
  };
}

/** A mesh on the graphics card. */
export interface Buffers {
  readonly vertices: WebGLVertexArrayObject;
  readonly count: number;
  dispose(): void;
}

export type UvMesh = Mesh & { readonly uv?: Float32Array; readonly tangent?: Float32Array };

export function loadMesh(gl: WebGL2RenderingContext, mesh: UvMesh): Buffers {
  const vertices = gl.createVertexArray();
  gl.bindVertexArray(vertices);
  const made: WebGLBuffer[] = [];
  const attribute = (place: number, values: Float32Array | undefined, per: number): void => {
    if (!values) return;
    const buffer = gl.createBuffer();
    made.push(buffer);
    gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, per, gl.FLOAT, false, 0, 0);
  };
  attribute(0, mesh.position, 3);
  attribute(1, mesh.normal, 3);
  attribute(2, mesh.uv, 2);
  attribute(3, mesh.tangent, 4);
  const index = gl.createBuffer();
  made.push(index);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, index);
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, mesh.index, gl.STATIC_DRAW);
  gl.bindVertexArray(null);
  return {
    vertices,
    count: mesh.index.length,
    dispose() {
      gl.deleteVertexArray(vertices);
      for (const buffer of made) gl.deleteBuffer(buffer);
    },
  };
}

/** A picture to be drawn with: decoded by the browser, or as RGBA bytes. */
export type Picture = TexImageSource | { readonly width: number; readonly height: number; readonly data: Uint8Array };

interface PictureKind {
  /** Whether it is coded as sRGB and is to be averaged as light. */
  readonly srgb: boolean;
  readonly repeats: 'no' | 'along' | 'both';
  /** Whether software may spare itself blending between levels. */
  readonly plain?: boolean;
}

/** Whether a graphics card draws, which can afford to filter slanting textures well. */
export function anisotropyOf(gl: WebGL2RenderingContext): number {
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const name = info ? String(gl.getParameter(info.UNMASKED_RENDERER_WEBGL)) : '';
  return /swiftshader|llvmpipe|software|basic render/i.test(name) ? 1 : 8;
}

export function loadPicture(
  gl: WebGL2RenderingContext,
  picture: Picture,
  { srgb, repeats, plain }: PictureKind,
): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_COLORSPACE_CONVERSION_WEBGL, gl.NONE);
  const inside = srgb ? gl.SRGB8_ALPHA8 : gl.RGBA8;
  if ('data' in picture && picture.data instanceof Uint8Array)
    gl.texImage2D(gl.TEXTURE_2D, 0, inside, picture.width, picture.height, 0, gl.RGBA, gl.UNSIGNED_BYTE, picture.data);
  else gl.texImage2D(gl.TEXTURE_2D, 0, inside, gl.RGBA, gl.UNSIGNED_BYTE, picture as TexImageSource);
  gl.generateMipmap(gl.TEXTURE_2D);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, repeats === 'no' ? gl.CLAMP_TO_EDGE : gl.REPEAT);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, repeats === 'both' ? gl.REPEAT : gl.CLAMP_TO_EDGE);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
  const most = anisotropyOf(gl);
  const nearest = plain && most === 1;
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, nearest ? gl.LINEAR_MIPMAP_NEAREST : gl.LINEAR_MIPMAP_LINEAR);
  const filter = most > 1 ? gl.getExtension('EXT_texture_filter_anisotropic') : null;
  if (filter) gl.texParameterf(gl.TEXTURE_2D, filter.TEXTURE_MAX_ANISOTROPY_EXT, most);
  return texture;
}

/** A texture to draw into, read texel by texel. */
export function emptyTexture(gl: WebGL2RenderingContext, format: number, width: number, height: number): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.texStorage2D(gl.TEXTURE_2D, 1, format, width, height);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
  return texture;
}

/** 4 × 4 matrices, column by column, as WebGL takes them. */
export type Matrix = Float32Array;

export type Vector = readonly [number, number, number];

export const dot = (a: Vector, b: Vector): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

const subtract = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

export const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

export function normalize(a: Vector): Vector {
  const length = Math.hypot(...a) || 1;
  return [a[0] / length, a[1] / length, a[2] / length];
}

/** Turns by columns: where x, y and z go, and what is added. */
export const frame = (x: Vector, y: Vector, z: Vector, at: Vector = [0, 0, 0]): Matrix =>
  Float32Array.of(...x, 0, ...y, 0, ...z, 0, ...at, 1);

export const moved = (at: Vector): Matrix => frame([1, 0, 0], [0, 1, 0], [0, 0, 1], at);

/** Turned about y (counter-clockwise seen from above), then moved. */
export function turned(turnRad: number, at: Vector = [0, 0, 0]): Matrix {
  const c = Math.cos(turnRad);
  const s = Math.sin(turnRad);
  return frame([c, 0, -s], [0, 1, 0], [s, 0, c], at);
}

/** a · b: b first. */
export function multiply(a: Matrix, b: Matrix): Matrix {
  const out = new Float32Array(16);
  for (let c = 0; c < 4; c++) {
    for (let r = 0; r < 4; r++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += a[4 * k + r] * b[4 * c + k];
      out[4 * c + r] = sum;
    }
  }
  return out;
}

/** A place through a matrix without perspective. */
export const apply = (m: Matrix, p: Vector, w = 1): Vector => [
  m[0] * p[0] + m[4] * p[1] + m[8] * p[2] + m[12] * w,
  m[1] * p[0] + m[5] * p[1] + m[9] * p[2] + m[13] * w,
  m[2] * p[0] + m[6] * p[1] + m[10] * p[2] + m[14] * w,
];

/** From the world to an eye that looks at a target; −z is ahead. */
export function lookAt(eye: Vector, target: Vector, up: Vector): Matrix {
  const back = normalize(subtract(eye, target));
  const right = normalize(cross(up, back));
  const above = cross(back, right);
  return Float32Array.of(
    right[0], above[0], back[0], 0,
    right[1], above[1], back[1], 0,
    right[2], above[2], back[2], 0,
    -dot(right, eye), -dot(above, eye), -dot(back, eye), 1,
  ); // biome-ignore format: columns
}

/** A part of a picture: 0–1 from its left bottom corner. */
export interface Tile {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export const WHOLE: Tile = { x: 0, y: 0, width: 1, height: 1 };

/** Perspective of a tile of a picture. `fieldRad` is the upright field of view of the whole. */
export function perspective(fieldRad: number, ratio: number, near: number, far: number, tile: Tile = WHOLE): Matrix {
  const top = near * Math.tan(fieldRad / 2);
  const left = (2 * tile.x - 1) * top * ratio;
  const right = left + 2 * tile.width * top * ratio;
  const bottom = (2 * tile.y - 1) * top;
  const above = bottom + 2 * tile.height * top;
  const out = new Float32Array(16);
  out[0] = (2 * near) / (right - left);
  out[5] = (2 * near) / (above - bottom);
  out[8] = (right + left) / (right - left);
  out[9] = (above + bottom) / (above - bottom);
  out[10] = -(far + near) / (far - near);
  out[11] = -1;
  out[14] = (-2 * far * near) / (far - near);
  return out;
}

/** Parallel light from a direction onto a ball: clip space of a shadow map. */
export function parallel(from: Vector, centre: Vector, radius: number): Matrix {
  const eye: Vector = [
    centre[0] + from[0] * radius * 2,
    centre[1] + from[1] * radius * 2,
    centre[2] + from[2] * radius * 2,
  ];
  const up: Vector = Math.abs(from[1]) > 0.9 ? [1, 0, 0] : [0, 1, 0];
  const view = lookAt(eye, centre, up);
  const box = new Float32Array(16);
  box[0] = 1 / radius;
  box[5] = 1 / radius;
  box[10] = -1 / (1.5 * radius);
  box[14] = -4 / 3;
  box[15] = 1;
  return multiply(box, view);
}

const SAMPLES = 4;

/**
 * Draws with smooth edges onto a canvas that has none of itself, so that pictures can do without them while something moves: software spends
 * more time on them than on all the rest.
 */
export class SmoothTarget {
  private readonly gl: WebGL2RenderingContext;
  private readonly frame: WebGLFramebuffer;
  private buffers: readonly WebGLRenderbuffer[] = [];
  private width = 0;
  private height = 0;

  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
    this.frame = gl.createFramebuffer();
  }

  /** What is drawn next goes here. */
  begin(width: number, height: number): void {
    const { gl } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    if (width === this.width && height === this.height) return;
    this.free();
    this.width = width;
    this.height = height;
    const most = Math.min(SAMPLES, gl.getParameter(gl.MAX_SAMPLES) as number);
    this.buffers = (
      [
        [gl.RGBA8, gl.COLOR_ATTACHMENT0],
        [gl.DEPTH_COMPONENT24, gl.DEPTH_ATTACHMENT],
      ] as const
    ).map(([format, place]) => {
      const buffer = gl.createRenderbuffer();
      gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, most, format, width, height);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, buffer);
      return buffer;
    });
  }

  /** Shows on the canvas what was drawn. */
  show(): void {
    const { gl, width, height } = this;
    gl.bindFramebuffer(gl.READ_FRAMEBUFFER, this.frame);
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    gl.blitFramebuffer(0, 0, width, height, 0, 0, width, height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  private free(): void {
    for (const buffer of this.buffers) this.gl.deleteRenderbuffer(buffer);
    this.buffers = [];
  }

  dispose(): void {
    this.free();
    this.gl.deleteFramebuffer(this.frame);
  }
}

const SIZE = 256;

const slope = (rise: number): number => Math.min(255, Math.max(0, 128 + 700 * rise));

/** Lattice cells across the tile, and their share of the height. */
const OCTAVES = [
  [6, 1],
  [13, 0.62],
  [29, 0.4],
  [61, 0.25],
  [117, 0.12],
] as const;

function heights(seed: number): Float32Array {
  const out = new Float32Array(SIZE * SIZE);
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      let sum = 0;
      OCTAVES.forEach(([cells, share], octave) => {
        sum += share * periodicNoise((x / SIZE) * cells, (y / SIZE) * cells, cells, cells, seed + octave);
      });
      out[y * SIZE + x] = sum;
    }
  }
  return stretchHeights(out);
}

/** A tile of noise that repeats: a height, its slopes right and down round 128, another height. */
export function noisePicture(): Picture {
  const one = heights(3);
  const other = heights(40);
  const data = new Uint8Array(SIZE * SIZE * 4);
  const at = (x: number, y: number) => one[((y + SIZE) % SIZE) * SIZE + ((x + SIZE) % SIZE)];
  for (let y = 0; y < SIZE; y++) {
    for (let x = 0; x < SIZE; x++) {
      const i = 4 * (y * SIZE + x);
      data[i] = 255 * at(x, y);
      data[i + 1] = slope(at(x + 1, y) - at(x - 1, y));
      data[i + 2] = slope(at(x, y + 1) - at(x, y - 1));
      data[i + 3] = 255 * other[y * SIZE + x];
    }
  }
  return { width: SIZE, height: SIZE, data };
}
