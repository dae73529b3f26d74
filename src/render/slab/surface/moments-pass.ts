import moments from '../../../../shaders/slope-moments.glsl?raw';

/** Depth that counts as 1 in the marks texture; the same number is in shaders/paint.frag. */
export const DEPTH_RANGE_UM = 80;

const VERTEX = `#version 300 es
void main() {
  vec2 corner = vec2(gl_VertexID & 1, gl_VertexID >> 1) * 4.0 - 1.0;
  gl_Position = vec4(corner, 0.0, 1.0);
}`;

const FRAGMENT = `#version 300 es
precision highp float;
precision highp int;
precision highp sampler2D;
uniform sampler2D uRelief;
uniform ivec2 uLast;
uniform float uCellMm;
layout(location = 0) out vec4 outMoments;
layout(location = 1) out vec4 outMarks;
${moments}
void main() {
  ivec2 cell = ivec2(gl_FragCoord.xy);
  vec2 here = heightAndScorch(uRelief, cell, uLast);
  outMoments = slopeMoments(uRelief, cell, uLast, uCellMm);
  outMarks = vec4(here.g, -here.r / ${DEPTH_RANGE_UM.toFixed(1)}, 0.0, 1.0);
}`;

interface Program {
  readonly gl: WebGL2RenderingContext;
  readonly program: WebGLProgram;
  readonly frame: WebGLFramebuffer;
  readonly vertices: WebGLVertexArrayObject;
  readonly uRelief: WebGLUniformLocation | null;
  readonly uLast: WebGLUniformLocation | null;
  readonly uCellMm: WebGLUniformLocation | null;
}

export interface MomentsTargets {
  readonly relief: WebGLTexture | null;
  readonly moments: unknown;
  readonly marks: unknown;
}

function compile(gl: WebGL2RenderingContext): Program {
  const program = gl.createProgram();
  for (const [kind, source] of [
    [gl.VERTEX_SHADER, VERTEX],
    [gl.FRAGMENT_SHADER, FRAGMENT],
  ] as const) {
    const shader = gl.createShader(kind)!;
    gl.shaderSource(shader, source);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
    gl.deleteShader(shader);
  }
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS) && !gl.isContextLost()) {
    throw new Error(`The slope shader does not link: ${gl.getProgramInfoLog(program)}`);
  }
  const uniform = (name: string) => gl.getUniformLocation(program, name);
  return {
    gl,
    program,
    frame: gl.createFramebuffer(),
    vertices: gl.createVertexArray(),
    uRelief: uniform('uRelief'),
    uLast: uniform('uLast'),
    uCellMm: uniform('uCellMm'),
  };
}

/** Turns rows of a relief texture into slope moments and marks (shaders/slope-moments.glsl). Raw WebGL, beside three. */
export class MomentsPass {
  private made: Program | null = null;

  draw(
    gl: WebGL2RenderingContext,
    targets: MomentsTargets,
    size: { width: number; height: number; pitchMm: number },
    row: number,
    rows: number,
  ): void {
    this.made ??= compile(gl);
    const { program, frame, vertices, uRelief, uLast, uCellMm } = this.made;
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    const attach = (point: number, texture: unknown): void =>
      gl.framebufferTexture2D(gl.FRAMEBUFFER, point, gl.TEXTURE_2D, texture as WebGLTexture | null, 0);
    attach(gl.COLOR_ATTACHMENT0, targets.moments);
    attach(gl.COLOR_ATTACHMENT1, targets.marks);
    gl.drawBuffers([gl.COLOR_ATTACHMENT0, gl.COLOR_ATTACHMENT1]);
    gl.disable(gl.BLEND);
    gl.disable(gl.DEPTH_TEST);
    gl.disable(gl.CULL_FACE);
    gl.disable(gl.STENCIL_TEST);
    gl.colorMask(true, true, true, true);
    gl.enable(gl.SCISSOR_TEST);
    gl.scissor(0, row, size.width, rows);
    gl.viewport(0, 0, size.width, size.height);
    gl.activeTexture(gl.TEXTURE0);
    gl.bindTexture(gl.TEXTURE_2D, targets.relief);
    // biome-ignore lint/correctness/useHookAtTopLevel: WebGL's useProgram is no hook of React's
    gl.useProgram(program);
    gl.uniform1i(uRelief, 0);
    gl.uniform2i(uLast, size.width - 1, size.height - 1);
    gl.uniform1f(uCellMm, size.pitchMm);
    gl.bindVertexArray(vertices);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
    gl.bindVertexArray(null);
    attach(gl.COLOR_ATTACHMENT0, null);
    attach(gl.COLOR_ATTACHMENT1, null);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.disable(gl.SCISSOR_TEST);
  }

  /** After a lost context. */
  forget(): void {
    this.made = null;
  }

  dispose(): void {
    if (!this.made) return;
    const { gl, program, frame, vertices } = this.made;
    gl.deleteProgram(program);
    gl.deleteFramebuffer(frame);
    gl.deleteVertexArray(vertices);
    this.made = null;
  }
}
