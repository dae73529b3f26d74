import { ExternalTexture, type WebGLRenderer } from 'three';
import moments from '../../../../shaders/slope-moments.glsl?raw';
import { createPlanesPass, drawPlanes, type SurfacePlanes } from './planes.ts';
import { TexelPass } from './texel-pass.ts';

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

/** Draw-buffer-capable texture with its whole mip chain allocated once. */
function allocate(
  gl: WebGL2RenderingContext,
  format: number,
  width: number,
  height: number,
  mips: boolean,
  blendMips = true,
): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  const levels = mips ? 1 + Math.floor(Math.log2(Math.max(width, height))) : 1;
  gl.texStorage2D(gl.TEXTURE_2D, levels, format, width, height);
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
  private readonly passes: SurfacePasses;
  private readonly anisotropy: number;
  private readonly dotted: boolean;

  /** `dotted`: its colours change from cell to cell. */
  constructor(
    surface: ProofSurface,
    renderer: WebGLRenderer,
    passes: SurfacePasses,
    anisotropy: number,
    dotted: boolean,
  ) {
    this.surface = surface;
    this.lying = surface.lying ?? null;
    this.renderer = renderer;
    this.passes = passes;
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

  /** Whether this is the same proof in finer cells: the finished one in place of its quick look. */
  refines(other: GpuSurface): boolean {
    return this.surface.id === other.surface.id && this.width > other.width;
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

  /** Whether it comes from a card that burned it, which makes short work of the rest: no need to do that piece by piece. */
  get lies(): boolean {
    return this.lying !== null;
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
    const planes = this.lying?.take() ?? null;
    if (!planes) this.lying = null;
    this.color.sourceTexture = allocate(gl, gl.SRGB8_ALPHA8, width, height, true, blend || this.dotted);
    this.moments.sourceTexture = allocate(gl, gl.RGBA16F, width, height, mips, blend);
    this.marks.sourceTexture = allocate(gl, gl.RG8, width, height, true, blend);
    this.relief = allocate(gl, gl.RG16F, width, height, false);
    this.opensWood = this.lying?.opensWood ?? false;
    if (planes) {
      drawPlanes(gl, this.passes.planes, planes, [this.color.sourceTexture, this.relief], this);
      this.stage = 'moments';
    }
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
    const { width, height, pitchMm, relief, momentsRow } = this;
    this.passes.moments.draw(gl, {
      source: ['uRelief', relief],
      targets: [this.moments.sourceTexture, this.marks.sourceTexture],
      ...{ width, height, row: momentsRow, rows },
      wholes: { uLast: [width - 1, height - 1] },
      numbers: { uCellMm: pitchMm },
    });
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

/** Turns relief into slope moments and marks (shaders/slope-moments.glsl), and planes of a card into colour and relief. */
export class SurfacePasses {
  readonly moments = new TexelPass(FRAGMENT);
  readonly planes = createPlanesPass();

  /** After a lost context. */
  forget(): void {
    this.moments.forget();
    this.planes.forget();
  }

  dispose(): void {
    this.moments.dispose();
    this.planes.dispose();
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
   * Left out: there are strips of it only. Else it is there whole; whether some cell is burned through to the wood. `take` hands over its
   * planes, once; null if they are gone. Its strips may follow; they are what is left of it after a lost context.
   */
  readonly lying?: { readonly opensWood: boolean; readonly take: () => SurfacePlanes | null };
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
