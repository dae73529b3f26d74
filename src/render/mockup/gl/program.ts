/** A linked program with its uniforms by name. */
export interface Program {
  readonly program: WebGLProgram;
  /** Makes it the one that draws. */
  use(): void;
  at(name: string): WebGLUniformLocation | null;
}

/** Attributes, the same in all programs. */
export const ATTRIBUTES = ['position', 'normal', 'uv', 'tangent'] as const;

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
