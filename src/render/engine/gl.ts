import type { Vector } from './matrix.ts';

/** How long a graphics card may stay away before it counts as gone, ms: browsers bring it back within a second, or not at all. */
const PATIENCE_MS = 5000;

/** @throws Error with words for people. */
export function openContext(
  canvas: HTMLCanvasElement | OffscreenCanvas,
  attributes?: WebGLContextAttributes,
): WebGL2RenderingContext {
  const gl = canvas.getContext('webgl2', attributes) as WebGL2RenderingContext | null;
  if (!gl) throw new Error('This browser cannot draw the slab: WebGL 2 is switched off.');
  return gl;
}

/**
 * Fills an element with a canvas and keeps it drawn on: `begin` makes all that is drawn with in a context, and returns what lets go of it. It is
 * called again when a context that was lost comes back, so that nobody else has to know of losses.
 * @param onFault hears what begins in vain, and of a graphics card that stays away.
 * @returns what ends it.
 */
export function keepDrawing(
  element: HTMLElement,
  attributes: WebGLContextAttributes,
  begin: (gl: WebGL2RenderingContext, canvas: HTMLCanvasElement) => () => void,
  onFault: (message: string) => void,
): () => void {
  const canvas = document.createElement('canvas');
  canvas.style.cssText = 'position: absolute; inset: 0; width: 100%; height: 100%; touch-action: none';
  element.append(canvas);
  let gl: WebGL2RenderingContext | null = null;
  let end: (() => void) | null = null;
  let waiting: ReturnType<typeof setTimeout> | undefined;
  const start = (): void => {
    clearTimeout(waiting);
    try {
      gl ??= openContext(canvas, attributes);
      end = begin(gl, canvas);
    } catch (error) {
      onFault(error instanceof Error ? error.message : String(error));
    }
  };
  const stop = (): void => {
    end?.();
    end = null;
  };
  const over = new AbortController();
  const onLost = (event: Event): void => {
    event.preventDefault();
    stop();
    waiting = setTimeout(() => onFault('the graphics card stopped and did not come back'), PATIENCE_MS);
  };
  canvas.addEventListener('webglcontextlost', onLost, { signal: over.signal });
  canvas.addEventListener('webglcontextrestored', start, { signal: over.signal });
  start();
  return () => {
    over.abort();
    clearTimeout(waiting);
    stop();
    // Browsers have few contexts to give, and collect them late.
    gl?.getExtension('WEBGL_lose_context')?.loseContext();
    canvas.remove();
  };
}

/** Whether no graphics card draws, but the processor, which pays for every texel and pixel. */
export function drawsInSoftware(gl: WebGL2RenderingContext): boolean {
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const name = String(gl.getParameter(info ? info.UNMASKED_RENDERER_WEBGL : gl.RENDERER) ?? '');
  return /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);
}

/** What a uniform takes: numbers as many as it has, or a texture for a sampler. */
export type Values = Readonly<Record<string, number | readonly number[] | Float32Array | WebGLTexture | null>>;

/** A linked program. */
export interface Program {
  /** Makes it the one that draws, with values by their names; names that it does not have are passed over. */
  use(...values: readonly Values[]): void;
  dispose(): void;
}

/** Attributes, the same in all programs, and their numbers a vertex. */
const ATTRIBUTES = { position: 3, normal: 3, uv: 2, tangent: 4, edge: 3, above: 2 } as const;

type Attribute = keyof typeof ATTRIBUTES;

const NAMES = Object.keys(ATTRIBUTES) as Attribute[];

/**
 * Compiles and links.
 * @throws Error with the driver's words if it cannot, and not for a lost context.
 */
export function link(
  gl: WebGL2RenderingContext,
  vertex: string,
  fragment: string,
  defines: readonly string[] = [],
): Program {
  const program = gl.createProgram();
  const precise = ['float', 'int', 'sampler2D', 'sampler2DArrayShadow'].map((kind) => `precision highp ${kind};\n`);
  const head = ['#version 300 es\n', ...precise, ...defines.map((name) => `#define ${name}\n`)].join('');
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
  NAMES.forEach((name, i) => {
    gl.bindAttribLocation(program, i, name);
  });
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS) && !gl.isContextLost())
    throw new Error(`A shader does not link: ${gl.getProgramInfoLog(program)}`);
  const setters = new Map(settersOf(gl, program));
  return {
    use(...values) {
      // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
      gl.useProgram(program);
      for (const some of values) for (const name in some) setters.get(name)?.(some[name]);
    },
    dispose: () => gl.deleteProgram(program),
  };
}

type Value = Values[string];

/** What sets each uniform of a program that is linked. Each sampler has a unit of its own. */
function settersOf(gl: WebGL2RenderingContext, program: WebGLProgram): [string, (value: Value) => void][] {
  // biome-ignore lint/correctness/useHookAtTopLevel: see above
  gl.useProgram(program);
  const count = (gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS) as number | null) ?? 0;
  let units = 0;
  return Array.from({ length: count }, (_, i): [string, (value: Value) => void] => {
    const { name, type } = gl.getActiveUniform(program, i)!;
    const place = gl.getUniformLocation(program, name);
    const numbers = (value: Value) => (typeof value === 'number' ? [value] : (value as number[]));
    const set: Partial<Record<number, (value: Value) => void>> = {
      [gl.FLOAT]: (value) => gl.uniform1fv(place, numbers(value)),
      [gl.FLOAT_VEC2]: (value) => gl.uniform2fv(place, numbers(value)),
      [gl.FLOAT_VEC3]: (value) => gl.uniform3fv(place, numbers(value)),
      [gl.FLOAT_VEC4]: (value) => gl.uniform4fv(place, numbers(value)),
      [gl.FLOAT_MAT4]: (value) => gl.uniformMatrix4fv(place, false, numbers(value)),
      [gl.INT_VEC2]: (value) => gl.uniform2iv(place, numbers(value)),
    };
    const known = set[type];
    if (known) return [name.replace('[0]', ''), known];
    const unit = units++;
    const target = type === gl.SAMPLER_2D ? gl.TEXTURE_2D : gl.TEXTURE_2D_ARRAY;
    gl.uniform1i(place, unit);
    return [
      name,
      (value) => {
        gl.activeTexture(gl.TEXTURE0 + unit);
        gl.bindTexture(target, value as WebGLTexture | null);
      },
    ];
  });
}

/**
 * Programs of the same sources with different parts switched on, linked when they are first drawn with. What is not needed is left out when it is
 * compiled, not skipped when it runs: software walks both ways of a branch.
 */
export class ProgramFamily {
  private readonly known = new Map<string, Program>();
  private readonly gl: WebGL2RenderingContext;
  private readonly vertex: string;
  private readonly fragment: string;

  constructor(gl: WebGL2RenderingContext, vertex: string, fragment: string) {
    this.gl = gl;
    this.vertex = vertex;
    this.fragment = fragment;
  }

  with(parts: readonly string[]): Program {
    const key = parts.join();
    const program = this.known.get(key) ?? link(this.gl, this.vertex, this.fragment, parts);
    this.known.set(key, program);
    return program;
  }

  dispose(): void {
    for (const program of this.known.values()) program.dispose();
  }
}

/** Places a program's three corners so that they cover all texels of what is drawn into; see `drawCells`. */
export const EVERY_CELL = `void main() {
  gl_Position = vec4(vec2(gl_VertexID & 1, gl_VertexID >> 1) * 4.0 - 1.0, 0.0, 1.0);
}`;

/** Runs the program in use, one with `EVERY_CELL`, over all cells of what is drawn into, or over some of their rows. */
export function drawCells(gl: WebGL2RenderingContext, width: number, height: number, row = 0, rows = height): void {
  for (const state of [gl.DEPTH_TEST, gl.CULL_FACE]) gl.disable(state);
  gl.viewport(0, 0, width, height);
  gl.enable(gl.SCISSOR_TEST);
  gl.scissor(0, row, width, rows);
  gl.bindVertexArray(null);
  gl.drawArrays(gl.TRIANGLES, 0, 3);
  gl.disable(gl.SCISSOR_TEST);
}

/** Something to draw into instead of the canvas: textures that change. */
export class Target {
  private readonly gl: WebGL2RenderingContext;
  private readonly frame: WebGLFramebuffer;

  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
    this.frame = gl.createFramebuffer();
  }

  /** What is drawn next goes into these textures, two at most, in their order; into none of them only depths are drawn. */
  into(...textures: readonly (WebGLTexture | null)[]): void {
    const { gl } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    const places = [gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1];
    places.forEach((place, i) => {
      gl.framebufferTexture2D(gl.FRAMEBUFFER, place, gl.TEXTURE_2D, textures[i] ?? null, 0);
    });
    gl.drawBuffers(textures.length > 0 ? places.slice(0, textures.length) : [gl.NONE]);
  }

  dispose(): void {
    this.gl.deleteFramebuffer(this.frame);
  }
}

/** A mesh on the graphics card. */
export interface Buffers {
  draw(): void;
  dispose(): void;
}

type Loaded = { readonly index: Uint32Array } & Partial<Readonly<Record<Attribute, Float32Array>>>;

export function loadMesh(gl: WebGL2RenderingContext, mesh: Loaded): Buffers {
  const vertices = gl.createVertexArray();
  gl.bindVertexArray(vertices);
  const load = (target: number, values: Float32Array | Uint32Array): WebGLBuffer => {
    const buffer = gl.createBuffer();
    gl.bindBuffer(target, buffer);
    gl.bufferData(target, values, gl.STATIC_DRAW);
    return buffer;
  };
  const buffers = NAMES.flatMap((name, place) => {
    const values = mesh[name];
    if (!values) return [];
    const buffer = load(gl.ARRAY_BUFFER, values);
    gl.enableVertexAttribArray(place);
    gl.vertexAttribPointer(place, ATTRIBUTES[name], gl.FLOAT, false, 0, 0);
    return buffer;
  });
  buffers.push(load(gl.ELEMENT_ARRAY_BUFFER, mesh.index));
  gl.bindVertexArray(null);
  return {
    draw() {
      gl.bindVertexArray(vertices);
      gl.drawElements(gl.TRIANGLES, mesh.index.length, gl.UNSIGNED_INT, 0);
      gl.bindVertexArray(null);
    },
    dispose() {
      gl.deleteVertexArray(vertices);
      for (const buffer of buffers) gl.deleteBuffer(buffer);
    },
  };
}

/** A picture to be drawn with: decoded by the browser, or as RGBA bytes. */
export type Picture = TexImageSource | { readonly width: number; readonly height: number; readonly data: Uint8Array };

/** Bytes go onto the card as they are, first row first. */
export function sendPlainly(gl: WebGL2RenderingContext): void {
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_COLORSPACE_CONVERSION_WEBGL, gl.NONE);
}

/**
 * How a texture is read: texel by texel, blended between texels, or blended over smaller levels of itself as well; 'plain-levels': software, which
 * pays for every texel, may spare itself blending between the levels.
 */
export type Reading = 'texels' | 'blended' | 'levels' | 'plain-levels';

/** Sets how the texture that is bound is read. */
function setReading(gl: WebGL2RenderingContext, reading: Reading, repeats: 'no' | 'along' | 'both' = 'no'): void {
  const set = (name: number, value: number): void => gl.texParameteri(gl.TEXTURE_2D, name, value);
  set(gl.TEXTURE_WRAP_S, repeats === 'no' ? gl.CLAMP_TO_EDGE : gl.REPEAT);
  set(gl.TEXTURE_WRAP_T, repeats === 'both' ? gl.REPEAT : gl.CLAMP_TO_EDGE);
  const near = reading === 'texels' ? gl.NEAREST : gl.LINEAR;
  set(gl.TEXTURE_MAG_FILTER, near);
  set(gl.TEXTURE_MIN_FILTER, near);
  if (reading === 'texels' || reading === 'blended') return;
  const software = drawsInSoftware(gl);
  const spared = software && reading === 'plain-levels';
  set(gl.TEXTURE_MIN_FILTER, spared ? gl.LINEAR_MIPMAP_NEAREST : gl.LINEAR_MIPMAP_LINEAR);
  // A graphics card can afford to filter slanting textures well.
  const filter = software ? null : gl.getExtension('EXT_texture_filter_anisotropic');
  if (!filter) return;
  const most = gl.getParameter(filter.MAX_TEXTURE_MAX_ANISOTROPY_EXT) as number;
  gl.texParameterf(gl.TEXTURE_2D, filter.TEXTURE_MAX_ANISOTROPY_EXT, Math.min(8, most));
}

interface PictureKind {
  /** Whether it is coded as sRGB and is to be averaged as light. */
  readonly srgb: boolean;
  readonly repeats: 'no' | 'along' | 'both';
  readonly reading?: Reading;
}

export function loadPicture(
  gl: WebGL2RenderingContext,
  picture: Picture,
  { srgb, repeats, reading = 'levels' }: PictureKind,
): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  sendPlainly(gl);
  const inside = srgb ? gl.SRGB8_ALPHA8 : gl.RGBA8;
  if ('data' in picture && picture.data instanceof Uint8Array)
    gl.texImage2D(gl.TEXTURE_2D, 0, inside, picture.width, picture.height, 0, gl.RGBA, gl.UNSIGNED_BYTE, picture.data);
  else gl.texImage2D(gl.TEXTURE_2D, 0, inside, gl.RGBA, gl.UNSIGNED_BYTE, picture as TexImageSource);
  gl.generateMipmap(gl.TEXTURE_2D);
  setReading(gl, reading, repeats);
  return texture;
}

/** A texture to draw into; with levels of itself where it is read so, which are there once they are made. */
export function emptyTexture(
  gl: WebGL2RenderingContext,
  format: number,
  { width, height }: { readonly width: number; readonly height: number },
  reading: Reading = 'texels',
): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  const levels = reading.endsWith('levels') ? 1 + Math.floor(Math.log2(Math.max(width, height))) : 1;
  gl.texStorage2D(gl.TEXTURE_2D, levels, format, width, height);
  setReading(gl, reading);
  return texture;
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

/** Begins a picture: the canvas, or a part of it, is emptied, and what is nearer hides what is farther. */
export function beginPicture(
  gl: WebGL2RenderingContext,
  { width, height }: { readonly width: number; readonly height: number },
  color: Vector,
): void {
  gl.viewport(0, 0, width, height);
  gl.enable(gl.DEPTH_TEST);
  gl.disable(gl.BLEND);
  gl.clearColor(...color, 1);
  gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
}
