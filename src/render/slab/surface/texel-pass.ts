const VERTEX = `#version 300 es
void main() {
  vec2 corner = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 4.0 - 1.0;
  gl_Position = vec4(corner, 0.0, 1.0);
}`;

interface Program {
  readonly gl: WebGL2RenderingContext;
  readonly handle: WebGLProgram;
  readonly frame: WebGLFramebuffer;
  readonly vertices: WebGLVertexArrayObject;
}

/** What one draw reads and writes: a texture that the shader knows by a name, targets in their order, and rows of them. */
export interface TexelDraw {
  readonly source: readonly [name: string, texture: unknown];
  readonly targets: readonly unknown[];
  readonly width: number;
  readonly height: number;
  readonly row?: number;
  readonly rows?: number;
  readonly wholes?: Readonly<Record<string, readonly [number, number]>>;
  readonly numbers?: Readonly<Record<string, number>>;
}

/** A fragment shader over all texels of some textures. Raw WebGL, beside three. */
export class TexelPass {
  private readonly fragment: string;
  private made: Program | null = null;

  constructor(fragment: string) {
    this.fragment = fragment;
  }

  draw(gl: WebGL2RenderingContext, order: TexelDraw): void {
    this.made ??= this.compile(gl);
    const { handle, frame, vertices } = this.made;
    const { source, targets, width, height, row = 0, rows = height } = order;
    const attach = (texture: unknown, i: number): void =>
      gl.framebufferTexture2D(
        gl.FRAMEBUFFER,
        gl.COLOR_ATTACHMENT0 + i,
        gl.TEXTURE_2D,
        texture as WebGLTexture | null,
        0,
      );
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    targets.forEach(attach);
    gl.drawBuffers(targets.map((_, i) => gl.COLOR_ATTACHMENT0 + i));
    for (const state of [gl.BLEND, gl.DEPTH_TEST, gl.CULL_FACE, gl.STENCIL_TEST]) gl.disable(state);
    gl.colorMask(true, true, true, true);
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(0, row, width, rows);
    gl.viewport(0, 0, width, height);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, source[1] as WebGLTexture | null);
    // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
    gl.useProgram(handle);
    const place = (name: string) => gl.getUniformLocation(handle, name);
    gl.uniform1i(place(source[0]), 0);
    for (const [name, value] of Object.entries(order.wholes ?? {})) gl.uniform2i(place(name), ...value);
    for (const [name, value] of Object.entries(order.numbers ?? {})) gl.uniform1f(place(name), value);
    gl.bindVertexArray(vertices);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.bindVertexArray(null);
    targets.forEach((_, i) => {
      attach(null, i);
    });
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.disable(gl.SCISSOR_TEST);
  }

  /** After a lost context. */
  forget(): void {
    this.made = null;
  }

  dispose(): void {
    if (!this.made) return;
    const { gl, handle, frame, vertices } = this.made;
    gl.deleteProgram(handle);
    gl.deleteFramebuffer(frame);
    gl.deleteVertexArray(vertices);
    this.made = null;
  }

  /** @throws Error if the shader does not link, and not for a lost context. */
  private compile(gl: WebGL2RenderingContext): Program {
    const handle = gl.createProgram();
    for (const [kind, source] of [
      [gl.VERTEX_SHADER, VERTEX],
      [gl.FRAGMENT_SHADER, this.fragment],
    ] as const) {
      const shader = gl.createShader(kind)!;
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(handle, shader);
      gl.deleteShader(shader);
    }
    gl.linkProgram(handle);
    if (!gl.getProgramParameter(handle, gl.LINK_STATUS) && !gl.isContextLost()) {
      throw new Error(`A shader of the slab does not link: ${gl.getProgramInfoLog(handle)}`);
    }
    return { gl, handle, frame: gl.createFramebuffer(), vertices: gl.createVertexArray() };
  }
}
