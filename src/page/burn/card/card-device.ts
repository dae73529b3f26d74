import { CARD_LOST, DeviceLost, watchContext } from '../../../base/card-watch.ts';
import type { CardSurface } from './card-surface.ts';

/** What a shader is given: a texture by its name, whole numbers, numbers, or a list of them. */
export type Uniform =
  | string
  | number
  | readonly number[]
  | { readonly floats: readonly number[] }
  | { readonly list: ArrayLike<number> };

interface Target {
  readonly name: string;
  readonly layer?: number;
}

/** What a card can be told to do, in plain data: whoever reckons and whoever draws need not be the same thread. */
export type CardOrder =
  /**
   * A texture of a size; one of that name and size stays. Layers make it an array. `atLeast`: a larger one will do. `mips`: with room for
   * all of them.
   */
  | {
      readonly kind: 'texture';
      readonly name: string;
      readonly format: number;
      readonly width: number;
      readonly height: number;
      readonly layers?: number;
      readonly atLeast?: boolean;
      readonly mips?: boolean;
    }
  /** Values of `rows` from `y` on, in `depth` layers from `layer` on. `given`: the buffer is handed over. */
  | {
      readonly kind: 'fill';
      readonly name: string;
      readonly layout: number;
      readonly type: number;
      readonly values: ArrayBufferView;
      readonly columns?: number;
      readonly y?: number;
      readonly rows: number;
      readonly layer?: number;
      readonly depth?: number;
      readonly given?: boolean;
    }
  | { readonly kind: 'program'; readonly name: string; readonly fragment: string }
  /** Draws over so many texels of the targets, from row `y` on. */
  | {
      readonly kind: 'draw';
      readonly program: string;
      readonly targets: readonly Target[];
      readonly width: number;
      readonly height: number;
      readonly y?: number;
      readonly uniforms: Readonly<Record<string, Uniform>>;
    }
  /** Reads from the texture's corner on, into a buffer of the answer. */
  | {
      readonly kind: 'read';
      readonly name: string;
      readonly width: number;
      readonly height: number;
      readonly layout: number;
      readonly type: number;
      readonly bytes: number;
    }
  | { readonly kind: 'forget'; readonly name: string };

export interface CardDevice {
  /**
   * Carries orders out in their turn. Resolves when the card is done, with what was read. Whatever it rejects with, nothing that was on
   * the card can be relied on any more.
   */
  run(orders: readonly CardOrder[]): Promise<Uint8Array[]>;
}

/** A context of WebGL 2 that may be somebody else's too: whatever is done there is done inside `use`, which puts their state right again. */
export interface SharedContext {
  use<Value>(work: (gl: WebGL2RenderingContext) => Value): Value;
}

interface Texture {
  readonly handle: WebGLTexture;
  readonly order: CardOrder & { readonly kind: 'texture' };
}

interface Program {
  readonly handle: WebGLProgram;
  readonly places: Map<string, WebGLUniformLocation | null>;
}

const WHOLE = `#version 300 es
void main() {
  vec2 corner = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 4.0 - 1.0;
  gl_Position = vec4(corner, 0.0, 1.0);
}`;

/** Most targets of a draw: as many as every card has. */
const MOST_TARGETS = 4;

/** Carries orders out on a context. */
export class ContextDevice implements CardDevice {
  private readonly context: SharedContext;
  private readonly textures = new Map<string, Texture>();
  private readonly programs = new Map<string, Program>();
  private readonly frame: WebGLFramebuffer;
  private readonly vertices: WebGLVertexArrayObject;
  private readonly assertLives: () => void;
  private gone = false;

  /** @throws Error if the context cannot draw into numbers. */
  constructor(context: SharedContext) {
    this.context = context;
    const made = context.use((gl) => {
      if (!gl.getExtension('EXT_color_buffer_float')) throw new Error('this card cannot write numbers');
      return { frame: gl.createFramebuffer(), vertices: gl.createVertexArray(), assertLives: watchContext(gl) };
    });
    this.frame = made.frame;
    this.vertices = made.vertices;
    this.assertLives = made.assertLives;
  }

  async run(orders: readonly CardOrder[]): Promise<Uint8Array[]> {
    const { fence, reads } = this.living((gl) => {
      // What somebody else has left.
      gl.getError();
      const found = orders.flatMap((order) => this.carryOut(gl, order) ?? []);
      const sync = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
      gl.flush();
      return { fence: sync, reads: found };
    });
    await this.signalled(fence);
    return this.living((gl) => {
      gl.deleteSync(fence);
      const values = reads.map(({ buffer, bytes }) => {
        const out = new Uint8Array(bytes);
        gl.bindBuffer(gl.PIXEL_PACK_BUFFER, buffer);
        gl.getBufferSubData(gl.PIXEL_PACK_BUFFER, 0, out);
        gl.deleteBuffer(buffer);
        return out;
      });
      gl.bindBuffer(gl.PIXEL_PACK_BUFFER, null);
      // Want of memory is told here and nowhere else.
      const error = gl.getError();
      if (error !== gl.NO_ERROR) throw new Error(`the graphics card refused an order: ${error}`);
      this.assertLives();
      return values;
    });
  }

  /** Whatever goes wrong on a card that is lost goes wrong for that. */
  private living<Value>(work: (gl: WebGL2RenderingContext) => Value): Value {
    if (this.gone) throw new DeviceLost(CARD_LOST);
    return this.context.use((gl) => {
      if (gl.isContextLost()) throw new DeviceLost(CARD_LOST);
      try {
        return work(gl);
      } catch (error) {
        throw gl.isContextLost() ? new DeviceLost(CARD_LOST) : error;
      }
    });
  }

  /** Lets messages in until the card has come to a fence; browsers tell of that between tasks only. */
  private async signalled(fence: WebGLSync | null): Promise<void> {
    for (;;) {
      const there = this.living((gl) => !fence || gl.getSyncParameter(fence, gl.SYNC_STATUS) === gl.SIGNALED);
      if (there) return;
      await new Promise((resolve) => setTimeout(resolve));
    }
  }

  /** Hands a surface over: it is not this device's any more. Null if it is not there. */
  takeSurface(names: CardSurface): { readonly color: WebGLTexture; readonly relief: WebGLTexture } | null {
    const color = this.textures.get(names.color);
    const relief = this.textures.get(names.relief);
    if (!color || !relief || this.gone) return null;
    this.textures.delete(names.color);
    this.textures.delete(names.relief);
    return { color: color.handle, relief: relief.handle };
  }

  /** What is under way and comes later is lost; textures of a context that lives are let go of. */
  dispose(): void {
    if (this.gone) return;
    this.gone = true;
    this.context.use((gl) => {
      for (const { handle } of this.textures.values()) gl.deleteTexture(handle);
      for (const { handle } of this.programs.values()) gl.deleteProgram(handle);
      gl.deleteFramebuffer(this.frame);
      gl.deleteVertexArray(this.vertices);
    });
  }

  private carryOut(gl: WebGL2RenderingContext, order: CardOrder): { buffer: WebGLBuffer; bytes: number } | null {
    if (order.kind === 'read') return this.read(gl, order);
    if (order.kind === 'texture') this.allocate(gl, order);
    else if (order.kind === 'fill') this.fill(gl, order);
    else if (order.kind === 'program') this.compile(gl, order.name, order.fragment);
    else if (order.kind === 'draw') this.draw(gl, order);
    else {
      gl.deleteTexture(this.textures.get(order.name)?.handle ?? null);
      this.textures.delete(order.name);
    }
    return null;
  }

  private of(name: string): Texture {
    const texture = this.textures.get(name);
    if (!texture) throw new Error(`there is no texture ${name}`);
    return texture;
  }

  private allocate(gl: WebGL2RenderingContext, asked: CardOrder & { readonly kind: 'texture' }): void {
    const known = this.textures.get(asked.name);
    let order = asked;
    if (known && known.order.format === asked.format && known.order.layers === asked.layers) {
      const { width, height } = known.order;
      if (asked.atLeast) {
        order = { ...asked, width: Math.max(width, asked.width), height: Math.max(height, asked.height) };
      }
      if (order.width === width && order.height === height) return;
    }
    if (known) gl.deleteTexture(known.handle);
    const { name, format, width, height, layers, mips } = order;
    const handle = gl.createTexture();
    const target = layers ? gl.TEXTURE_2D_ARRAY : gl.TEXTURE_2D;
    gl.bindTexture(target, handle);
    const levels = mips ? 1 + Math.floor(Math.log2(Math.max(width, height))) : 1;
    if (layers) gl.texStorage3D(target, levels, format, width, height, layers);
    else gl.texStorage2D(target, levels, format, width, height);
    gl.texParameteri(target, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.texParameteri(target, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    this.textures.set(name, { handle, order });
  }

  private fill(gl: WebGL2RenderingContext, order: CardOrder & { readonly kind: 'fill' }): void {
    const { handle, order: made } = this.of(order.name);
    const { layout, type, values, y = 0, rows, layer = 0, depth = 1 } = order;
    const columns = order.columns ?? made.width;
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
    const target = made.layers ? gl.TEXTURE_2D_ARRAY : gl.TEXTURE_2D;
    gl.bindTexture(target, handle);
    if (made.layers) gl.texSubImage3D(target, 0, 0, y, layer, columns, rows, depth, layout, type, values);
    else gl.texSubImage2D(target, 0, 0, y, columns, rows, layout, type, values);
  }

  /** @throws Error if the shader does not compile. */
  private compile(gl: WebGL2RenderingContext, name: string, fragment: string): void {
    if (this.programs.has(name)) return;
    const handle = gl.createProgram();
    const shaders = [
      [gl.VERTEX_SHADER, WHOLE],
      [gl.FRAGMENT_SHADER, fragment],
    ] as const;
    for (const [kind, source] of shaders) {
      const shader = gl.createShader(kind)!;
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(handle, shader);
      gl.deleteShader(shader);
    }
    gl.linkProgram(handle);
    if (!gl.getProgramParameter(handle, gl.LINK_STATUS)) {
      const why = gl.getAttachedShaders(handle)?.map((shader) => gl.getShaderInfoLog(shader));
      throw new Error(`the shader ${name} does not link: ${gl.getProgramInfoLog(handle)} ${why?.join(' ')}`);
    }
    this.programs.set(name, { handle, places: new Map() });
  }

  private draw(gl: WebGL2RenderingContext, order: CardOrder & { readonly kind: 'draw' }): void {
    const program = this.programs.get(order.program);
    if (!program) throw new Error(`there is no shader ${order.program}`);
    const { handle, places } = program;
    // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
    gl.useProgram(handle);
    let unit = 0;
    for (const [name, value] of Object.entries(order.uniforms)) {
      if (!places.has(name)) places.set(name, gl.getUniformLocation(handle, name));
      const place = places.get(name) ?? null;
      if (typeof value === 'number') gl.uniform1i(place, value);
      else if (typeof value === 'string') {
        const { handle: texture, order: made } = this.of(value);
        gl.activeTexture(gl.TEXTURE0 + unit);
        gl.bindTexture(made.layers ? gl.TEXTURE_2D_ARRAY : gl.TEXTURE_2D, texture);
        gl.bindSampler(unit, null);
        gl.uniform1i(place, unit);
        unit++;
      } else if ('list' in value) gl.uniform1fv(place, Float32Array.from(value.list));
      else if ('floats' in value) gl[`uniform${value.floats.length as 1 | 2 | 3}fv`](place, value.floats);
      else gl[value.length === 2 ? 'uniform2iv' : 'uniform3iv'](place, value);
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    this.attach(gl, order.targets);
    gl.drawBuffers(order.targets.map((_, i) => gl.COLOR_ATTACHMENT0 + i));
    for (const state of [gl.BLEND, gl.DEPTH_TEST, gl.CULL_FACE, gl.STENCIL_TEST, gl.SCISSOR_TEST]) gl.disable(state);
    gl.colorMask(true, true, true, true);
    gl.viewport(0, order.y ?? 0, order.width, order.height);
    gl.bindVertexArray(this.vertices);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.bindVertexArray(null);
    this.attach(gl, []);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.activeTexture(gl.TEXTURE0);
  }

  private read(gl: WebGL2RenderingContext, order: CardOrder & { readonly kind: 'read' }) {
    const buffer = gl.createBuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    this.attach(gl, [order]);
    gl.bindBuffer(gl.PIXEL_PACK_BUFFER, buffer);
    gl.bufferData(gl.PIXEL_PACK_BUFFER, order.bytes, gl.STREAM_READ);
    gl.pixelStorei(gl.PACK_ALIGNMENT, 1);
    gl.readPixels(0, 0, order.width, order.height, order.layout, order.type, 0);
    gl.bindBuffer(gl.PIXEL_PACK_BUFFER, null);
    this.attach(gl, []);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    return { buffer, bytes: order.bytes };
  }

  private attach(gl: WebGL2RenderingContext, targets: readonly Target[]): void {
    for (let i = 0; i < MOST_TARGETS; i++) {
      const point = gl.COLOR_ATTACHMENT0 + i;
      const target = targets[i];
      const texture = target && this.of(target.name);
      if (texture?.order.layers) {
        gl.framebufferTextureLayer(gl.FRAMEBUFFER, point, texture.handle, 0, target.layer ?? 0);
      } else {
        gl.framebufferTexture2D(gl.FRAMEBUFFER, point, gl.TEXTURE_2D, texture?.handle ?? null, 0);
      }
    }
  }
}
