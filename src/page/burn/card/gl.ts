/** A texture with what it was made for. */
export interface Texture {
  readonly handle: WebGLTexture;
  readonly target: number;
  readonly format: number;
  readonly width: number;
  readonly height: number;
  readonly layers: number;
}

/** Values of a plane, or of a part of one: rows of `columns` from `y` on, in a layer. */
interface Part {
  readonly columns?: number;
  readonly y?: number;
  readonly rows: number;
  readonly layer?: number;
}

/** Textures by name, read by whole places only. One of more than one layer, or that `layered` calls so, is an array. */
export class Textures {
  private readonly gl: WebGL2RenderingContext;
  private readonly made = new Map<string, Texture>();

  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
  }

  /** @throws Error if it was never made. */
  of(name: string): Texture {
    const texture = this.made.get(name);
    if (!texture) throw new Error(`there is no texture ${name}`);
    return texture;
  }

  /** Makes a texture of a size; one of that name and size stays. Layers, even a single one, make it an array. */
  allocate(name: string, format: number, width: number, height: number, layers = 0): void {
    const known = this.made.get(name);
    if (known?.format === format && known.width === width && known.height === height && known.layers === layers) {
      return;
    }
    const { gl } = this;
    if (known) gl.deleteTexture(known.handle);
    const handle = gl.createTexture();
    const target = layers > 0 ? gl.TEXTURE_2D_ARRAY : gl.TEXTURE_2D;
    gl.bindTexture(target, handle);
    if (layers > 0) gl.texStorage3D(target, 1, format, width, height, layers);
    else gl.texStorage2D(target, 1, format, width, height);
    gl.texParameteri(target, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
    gl.texParameteri(target, gl.TEXTURE_MAG_FILTER, gl.NEAREST);
    this.made.set(name, { handle, target, format, width, height, layers });
  }

  /** The same, where a larger one will do. */
  reserve(name: string, format: number, width: number, height: number, layers = 0): void {
    const known = this.made.get(name);
    const fits = known?.format === format && known.layers === layers;
    const more = (now: number | undefined, wanted: number) => (fits ? Math.max(now ?? 0, wanted) : wanted);
    this.allocate(name, format, more(known?.width, width), more(known?.height, height), layers);
  }

  fill(
    name: string,
    layout: number,
    type: number,
    values: ArrayBufferView,
    { columns, y = 0, rows, layer = 0 }: Part,
  ): void {
    const { gl } = this;
    const { handle, target, width, layers } = this.of(name);
    gl.bindTexture(target, handle);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
    if (layers > 0) gl.texSubImage3D(target, 0, 0, y, layer, columns ?? width, rows, 1, layout, type, values);
    else gl.texSubImage2D(target, 0, 0, y, columns ?? width, rows, layout, type, values);
  }

  /** A texture of just these values. */
  table(
    name: string,
    format: number,
    layout: number,
    type: number,
    { width, height, data }: { readonly width: number; readonly height: number; readonly data: ArrayBufferView },
  ): void {
    this.allocate(name, format, width, height);
    this.fill(name, layout, type, data, { rows: height });
  }

  dispose(): void {
    for (const { handle } of this.made.values()) this.gl.deleteTexture(handle);
    this.made.clear();
  }
}

/** What a shader is given: a texture, whole numbers, numbers, or a list of them. */
export type Uniform =
  | Texture
  | number
  | readonly number[]
  | { readonly floats: readonly number[] }
  | { readonly list: ArrayLike<number> };

export interface Target {
  readonly texture: Texture;
  readonly layer?: number;
}

interface Program {
  readonly handle: WebGLProgram;
  readonly places: Map<string, WebGLUniformLocation | null>;
}

/** Shaders that draw over the whole of their targets, by their text; and reading of what was drawn. */
export class Programs {
  private readonly gl: WebGL2RenderingContext;
  private readonly vertex: string;
  private readonly made = new Map<string, Program>();
  private readonly frame: WebGLFramebuffer;
  private readonly vertices: WebGLVertexArrayObject;

  constructor(gl: WebGL2RenderingContext, vertex: string) {
    this.gl = gl;
    this.vertex = vertex;
    this.frame = gl.createFramebuffer();
    this.vertices = gl.createVertexArray();
  }

  /** Draws from the targets' corner on, so many texels. */
  draw(
    fragment: string,
    targets: readonly Target[],
    width: number,
    height: number,
    uniforms: Readonly<Record<string, Uniform>>,
  ): void {
    const { gl } = this;
    const { handle, places } = this.of(fragment);
    // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
    gl.useProgram(handle);
    let unit = 0;
    for (const [name, value] of Object.entries(uniforms)) {
      if (!places.has(name)) places.set(name, gl.getUniformLocation(handle, name));
      const place = places.get(name) ?? null;
      if (typeof value === 'number') gl.uniform1i(place, value);
      else if (Array.isArray(value)) gl[value.length === 2 ? 'uniform2iv' : 'uniform3iv'](place, value);
      else if ('list' in value) gl.uniform1fv(place, Float32Array.from(value.list));
      else if ('floats' in value) gl[`uniform${value.floats.length as 1 | 2 | 3}fv`](place, value.floats);
      else if ('handle' in value) {
        gl.activeTexture(gl.TEXTURE0 + unit);
        gl.bindTexture(value.target, value.handle);
        gl.uniform1i(place, unit);
        unit++;
      }
    }
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    this.attach(targets);
    gl.drawBuffers(targets.map((_, i) => gl.COLOR_ATTACHMENT0 + i));
    for (const state of [gl.BLEND, gl.DEPTH_TEST, gl.CULL_FACE, gl.STENCIL_TEST, gl.SCISSOR_TEST]) gl.disable(state);
    gl.colorMask(true, true, true, true);
    gl.viewport(0, 0, width, height);
    gl.bindVertexArray(this.vertices);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.bindVertexArray(null);
    gl.activeTexture(gl.TEXTURE0);
    this.attach([]);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  /** Reads from a texture's corner on. */
  read(texture: Texture, width: number, height: number, layout: number, type: number, into: ArrayBufferView): void {
    const { gl } = this;
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.frame);
    this.attach([{ texture }]);
    gl.pixelStorei(gl.PACK_ALIGNMENT, 1);
    gl.readPixels(0, 0, width, height, layout, type, into);
    this.attach([]);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  private attach(targets: readonly Target[]): void {
    const { gl } = this;
    for (let i = 0; i < 4; i++) {
      const point = gl.COLOR_ATTACHMENT0 + i;
      const target = targets[i];
      if (target?.texture.layers) {
        gl.framebufferTextureLayer(gl.FRAMEBUFFER, point, target.texture.handle, 0, target.layer ?? 0);
      } else {
        gl.framebufferTexture2D(gl.FRAMEBUFFER, point, gl.TEXTURE_2D, target?.texture.handle ?? null, 0);
      }
    }
  }

  /** @throws Error if the shader does not compile, unless the card is lost. */
  private of(fragment: string): Program {
    let program = this.made.get(fragment);
    if (!program) {
      const { gl } = this;
      const handle = gl.createProgram();
      for (const [kind, source] of [
        [gl.VERTEX_SHADER, this.vertex],
        [gl.FRAGMENT_SHADER, fragment],
      ] as const) {
        const shader = gl.createShader(kind)!;
        gl.shaderSource(shader, source);
        gl.compileShader(shader);
        if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS) && !gl.isContextLost()) {
          throw new Error(`a shader of the burn does not compile: ${gl.getShaderInfoLog(shader)}`);
        }
        gl.attachShader(handle, shader);
        gl.deleteShader(shader);
      }
      gl.linkProgram(handle);
      if (!gl.getProgramParameter(handle, gl.LINK_STATUS) && !gl.isContextLost()) {
        throw new Error(`a shader of the burn does not link: ${gl.getProgramInfoLog(handle)}`);
      }
      program = { handle, places: new Map() };
      this.made.set(fragment, program);
    }
    return program;
  }

  dispose(): void {
    const { gl } = this;
    for (const { handle } of this.made.values()) gl.deleteProgram(handle);
    gl.deleteFramebuffer(this.frame);
    gl.deleteVertexArray(this.vertices);
    this.made.clear();
  }
}
