import { ExternalTexture, type WebGLRenderer } from 'three';
import moments from '../../../../shaders/slope-moments.glsl?raw';

/** What the paint shader reads of one surface. */
export interface SurfaceTextures {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly color: ExternalTexture;
  readonly moments: ExternalTexture;
  readonly marks: ExternalTexture;
  /** Whether some cell is burned through to the wood. */
  readonly opensWood: boolean;
}

type Stage = 'strips' | 'moments' | 'mips' | 'ready';

/** Cells sent to the graphics card per call, and turned into slopes per draw: a few ms each. */
const CELLS_PER_UPLOAD = 1 << 18;

export const CELLS_PER_DRAW = 1 << 19;

/** The half float from which scorch counts as burned through (0.99 and up; halves of positive numbers sort as integers do). */
const THROUGH_HALF = 0x3bec;

function burnsThrough(relief: Uint16Array): boolean {
  for (let i = 1; i < relief.length; i += 2) if (relief[i] >= THROUGH_HALF && relief[i] <= 0x7c00) return true;
  return false;
}

const hasMips = (gl: WebGL2RenderingContext): boolean => gl.getExtension('EXT_color_buffer_float') !== null;

/** Draw-buffer-capable texture with its whole mip chain allocated once; `made`: one of that kind that is there. */
function allocate(
  gl: WebGL2RenderingContext,
  format: number,
  width: number,
  height: number,
  mips: boolean,
  blendMips = true,
  made: WebGLTexture | null = null,
): WebGLTexture {
  const texture = made ?? gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  const levels = mips ? 1 + Math.floor(Math.log2(Math.max(width, height))) : 1;
  if (!made) gl.texStorage2D(gl.TEXTURE_2D, levels, format, width, height);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
  const minified = blendMips ? gl.LINEAR_MIPMAP_LINEAR : gl.LINEAR_MIPMAP_NEAREST;
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, mips ? minified : gl.LINEAR);
  return texture;
}

/**
 * One proof surface on the graphics card: colour (SRGB8_ALPHA8), slope moments (RGBA16F) and marks (RG8), made from strips a bit
 * per call of `advance` so that no task of the page gets long. The relief itself (RG16F) is only needed on the way.
 */
export class GpuSurface implements SurfaceTextures {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly color = new ExternalTexture();
  readonly moments = new ExternalTexture();
  readonly marks = new ExternalTexture();
  private relief: WebGLTexture | null = null;
  private stage: Stage = 'strips';
  private allocated = false;
  private readonly sent: ProofBar[] = [];
  private rowInSwath = 0;
  private momentsRow = 0;
  private mipsMade = 0;
  opensWood = false;

  private surface: ProofSurface;
  /** What lies on the card; null once it has been asked for in vain, or the context was lost. */
  private lying: ProofSurface['lying'] | null;
  private readonly renderer: WebGLRenderer;
  private readonly pass: MomentsPass;
  private readonly anisotropy: number;
  private readonly dotted: boolean;

  /** `dotted`: its colours change from cell to cell. */
  constructor(surface: ProofSurface, renderer: WebGLRenderer, pass: MomentsPass, anisotropy: number, dotted: boolean) {
    this.surface = surface;
    this.lying = surface.lying ?? null;
    this.renderer = renderer;
    this.pass = pass;
    this.anisotropy = anisotropy;
    this.dotted = dotted;
    this.width = surface.width;
    this.height = surface.height;
    this.pitchMm = surface.pitchMm;
  }

  get ready(): boolean {
    return this.stage === 'ready';
  }

  /** Whether `surface` is the same proof, perhaps grown: same name and size, and every strip sent so far is still in it. */
  matches(surface: ProofSurface): boolean {
    return (
      surface.id === this.surface.id &&
      surface.width === this.width &&
      surface.height === this.height &&
      surface.pitchMm === this.surface.pitchMm &&
      (this.lying !== null || this.stage !== 'ready' || surface.strips.length === this.sent.length) &&
      this.sent.every((strip, i) => surface.strips[i] === strip)
    );
  }

  follow(surface: ProofSurface): void {
    this.surface = surface;
  }

  /** Whether `advance` has something to do now. */
  get hasWork(): boolean {
    if (this.stage === 'ready') return false;
    return (
      this.stage !== 'strips' || this.lying !== null || this.sent.length < this.surface.strips.length || this.whole
    );
  }

  /** Whether all rows have been sent. */
  private get whole(): boolean {
    return this.surface.complete && this.sent.reduce((sum, { rows }) => sum + rows, 0) === this.height;
  }

  /** Cells that the next piece of work draws; 0 if it only sends rows, which does not keep the graphics card busy. */
  get drawing(): number {
    if (this.stage === 'mips') return this.width * this.height;
    return this.stage === 'moments' || this.lying ? Math.min(CELLS_PER_DRAW, this.width * this.height) : 0;
  }

  /** Does the next small piece of work. The caller resets three's notion of the graphics state afterwards. */
  advance(): void {
    const gl = this.renderer.getContext() as WebGL2RenderingContext;
    if (!this.allocated) this.allocate(gl);
    if (this.stage === 'strips') this.sendRows(gl);
    else if (this.stage === 'moments') this.drawMoments(gl);
    else if (this.stage === 'mips') this.makeMips(gl);
  }

  private allocate(gl: WebGL2RenderingContext): void {
    const { width, height } = this;
    const mips = hasMips(gl);
    // Software renderers pay for every texel: only dots, which flicker otherwise, blend between mip levels there.
    const blend = this.anisotropy > 1;
    const { color, relief } = this.lying?.take() ?? { color: null, relief: null };
    if (!color) this.lying = null;
    this.color.sourceTexture = allocate(gl, gl.SRGB8_ALPHA8, width, height, true, blend || this.dotted, color);
    this.moments.sourceTexture = allocate(gl, gl.RGBA16F, width, height, mips, blend);
    this.marks.sourceTexture = allocate(gl, gl.RG8, width, height, true, blend);
    this.relief = allocate(gl, gl.RG16F, width, height, false, true, relief);
    this.opensWood = this.lying?.opensWood ?? false;
    if (this.lying) this.stage = 'moments';
    const filter = gl.getExtension('EXT_texture_filter_anisotropic');
    if (filter && this.anisotropy > 1) {
      for (const texture of [this.color, this.moments, this.marks]) {
        gl.bindTexture(gl.TEXTURE_2D, texture.sourceTexture);
        gl.texParameterf(gl.TEXTURE_2D, filter.TEXTURE_MAX_ANISOTROPY_EXT, this.anisotropy);
      }
    }
    this.allocated = true;
  }

  private sendRows(gl: WebGL2RenderingContext): void {
    const strip = this.surface.strips[this.sent.length];
    if (!strip) {
      if (this.whole) this.stage = 'moments';
      return;
    }
    const { width } = this;
    const rows = Math.min(strip.rows - this.rowInSwath, Math.max(1, Math.floor(CELLS_PER_UPLOAD / width)));
    const from = this.rowInSwath * width;
    const to = from + rows * width;
    const y = strip.y0 + this.rowInSwath;
    gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
    gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    gl.bindTexture(gl.TEXTURE_2D, this.color.sourceTexture);
    const color = strip.color.subarray(from * 4, to * 4);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, y, width, rows, gl.RGBA, gl.UNSIGNED_BYTE, color);
    gl.bindTexture(gl.TEXTURE_2D, this.relief);
    const relief = strip.relief.subarray(from * 2, to * 2);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, y, width, rows, gl.RG, gl.HALF_FLOAT, relief);
    this.opensWood ||= burnsThrough(relief);
    this.rowInSwath += rows;
    if (this.rowInSwath >= strip.rows) {
      this.sent.push(strip);
      this.rowInSwath = 0;
    }
  }

  private drawMoments(gl: WebGL2RenderingContext): void {
    const rows = Math.min(this.height - this.momentsRow, Math.max(1, Math.floor(CELLS_PER_DRAW / this.width)));
    const { surface, relief, momentsRow } = this;
    this.pass.draw(
      gl,
      { relief, moments: this.moments.sourceTexture, marks: this.marks.sourceTexture },
      surface,
      momentsRow,
      rows,
    );
    this.momentsRow += rows;
    if (this.momentsRow < this.height) return;
    gl.deleteTexture(this.relief);
    this.relief = null;
    this.stage = 'mips';
  }

  private makeMips(gl: WebGL2RenderingContext): void {
    const textures = [this.color, this.marks, this.moments];
    const texture = textures[this.mipsMade];
    if (texture !== this.moments || hasMips(gl)) {
      gl.bindTexture(gl.TEXTURE_2D, texture.sourceTexture);
      gl.generateMipmap(gl.TEXTURE_2D);
    }
    this.mipsMade += 1;
    if (this.mipsMade === textures.length) this.stage = 'ready';
  }

  /** After a lost context: forget what was on the card and start over from the strips. */
  restart(): void {
    this.allocated = false;
    this.lying = null;
    this.relief = null;
    this.stage = 'strips';
    this.sent.length = 0;
    this.rowInSwath = 0;
    this.momentsRow = 0;
    this.mipsMade = 0;
    for (const texture of [this.color, this.moments, this.marks]) texture.sourceTexture = null;
  }

  dispose(): void {
    const gl = this.renderer.getContext() as WebGL2RenderingContext;
    for (const texture of [this.color, this.moments, this.marks]) {
      if (texture.sourceTexture) gl.deleteTexture(texture.sourceTexture as WebGLTexture);
      texture.sourceTexture = null;
      texture.dispose();
    }
    if (this.relief) gl.deleteTexture(this.relief);
    this.relief = null;
    this.allocated = false;
  }
}

/** Depth that counts as 1 in the marks texture; the same number is in shaders/paint.frag. */
const DEPTH_RANGE_UM = 80;

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

interface MomentsTargets {
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

/**
 * What the proof hands to the view: the burned surface, cell by cell, in strips.
 *
 * Rows run from the picture's top to its bottom, cells from left to right. The view keeps the strips by reference (it needs
 * them again after a lost graphics context) and never writes to them; whoever makes them must not write to them either once
 * they are in a surface.
 */
export interface ProofBar {
  /** First row of the strip. */
  readonly y0: number;
  /** Number of rows. */
  readonly rows: number;
  /**
   * RGBA8, `rows * width * 4` long. rgb is the sRGB-encoded colour as an instrument that includes the mirror reflection would
   * read it; a is the share of the cell that is uncleared, 0…255.
   */
  readonly color: Uint8Array;
  /**
   * Half floats, two per cell, `rows * width * 2` long: surface height in µm relative to the intact surface's nominal height
   * (negative = burned down; film ripple included), then scorch 0…1.
   */
  readonly relief: Uint16Array;
}

/**
 * A proof as the view draws it. A surface grows: the maker appends strips (in any order of rows) and raises `version`, and sets
 * `complete` with the last one. A surface with other contents needs another `id` or other strips; nothing is drawn before a
 * surface is complete and wholly on the graphics card.
 */
export interface ProofSurface {
  /**
   * Left out: nothing of it is on the card yet. Else it lies whole in the view's own context; whether some cell is burned through to the
   * wood. `take` hands over textures, which are the view's from then on: colour (SRGB8_ALPHA8, with room for all mip levels) and relief
   * (RG16F); null if they are gone. Its strips may follow; they are what is left of it after a lost context.
   */
  readonly lying?: {
    readonly opensWood: boolean;
    readonly take: () => { readonly color: WebGLTexture; readonly relief: WebGLTexture } | null;
  };
  /** The same for every version of one proof; surfaces of other sizes may share it (a coarse one that comes first). */
  readonly id: string;
  /** Cells per row, up to 8192. */
  readonly width: number;
  /** Rows. */
  readonly height: number;
  /** Size of a cell; cells are square. */
  readonly pitchMm: number;
  readonly strips: readonly ProofBar[];
  /** Whether all strips are there. */
  readonly complete: boolean;
  /** Raised whenever strips were added. */
  readonly version: number;
}
