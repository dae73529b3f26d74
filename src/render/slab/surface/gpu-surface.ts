import moments from '../../../../shaders/slope-moments.glsl?raw';
import planesFragment from '../../../../shaders/surface-planes.frag?raw';
import { drawCells, EVERY_CELL, emptyTexture, ProgramFamily, sendPlainly, Target } from '../../engine/gl.ts';
import { type SurfacePlanes, stackOf } from './planes.ts';

/** What the paint shader reads of one surface. */
export interface SurfaceTextures {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  readonly color: WebGLTexture | null;
  readonly moments: WebGLTexture | null;
  readonly marks: WebGLTexture | null;
  /** Whether some cell is burned through to the wood. */
  readonly opensWood: boolean;
}

type Stage = 'swaths' | 'moments' | 'mips' | 'ready';

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

/**
 * One proof surface on the graphics card: colour (SRGB8_ALPHA8), slope moments (RGBA16F) and marks (RG8), made from swaths a bit
 * per call of `advance` so that no task of the page gets long. The relief itself (RG16F) is only needed on the way.
 */
export class GpuSurface implements SurfaceTextures {
  readonly width: number;
  readonly height: number;
  readonly pitchMm: number;
  color: WebGLTexture | null = null;
  moments: WebGLTexture | null = null;
  marks: WebGLTexture | null = null;
  private relief: WebGLTexture | null = null;
  private stage: Stage = 'swaths';
  private allocated = false;
  private readonly sent: ProofSwath[] = [];
  private rowInSwath = 0;
  private momentsRow = 0;
  private mipsMade = 0;
  opensWood = false;

  private surface: ProofSurface;
  /** What lies on the card; null once it has been asked for in vain, or the context was lost. */
  private lying: ProofSurface['lying'] | null;
  private readonly gl: WebGL2RenderingContext;
  private readonly passes: SurfacePasses;
  private readonly dotted: boolean;

  /** `dotted`: its colours change from cell to cell. */
  constructor(surface: ProofSurface, gl: WebGL2RenderingContext, passes: SurfacePasses, dotted: boolean) {
    this.surface = surface;
    this.lying = surface.lying ?? null;
    this.gl = gl;
    this.passes = passes;
    this.dotted = dotted;
    this.width = surface.width;
    this.height = surface.height;
    this.pitchMm = surface.pitchMm;
  }

  get ready(): boolean {
    return this.stage === 'ready';
  }

  /** Whether `surface` is the same proof, perhaps grown: same name and size, and every swath sent so far is still in it. */
  matches(surface: ProofSurface): boolean {
    return (
      surface.id === this.surface.id &&
      surface.width === this.width &&
      surface.height === this.height &&
      surface.pitchMm === this.surface.pitchMm &&
      (this.lying !== null || this.stage !== 'ready' || surface.swaths.length === this.sent.length) &&
      this.sent.every((swath, i) => surface.swaths[i] === swath)
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
      this.stage !== 'swaths' || this.lying !== null || this.sent.length < this.surface.swaths.length || this.whole
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

  /** Does the next small piece of work. */
  advance(): void {
    const { gl } = this;
    if (!this.allocated) this.allocate(gl);
    if (this.stage === 'swaths') this.sendRows(gl);
    else if (this.stage === 'moments') this.drawMoments(gl);
    else if (this.stage === 'mips') this.makeMips(gl);
  }

  private allocate(gl: WebGL2RenderingContext): void {
    const planes = this.lying?.take() ?? null;
    if (!planes) this.lying = null;
    // Dots flicker where they do not blend between levels, in software too.
    this.color = emptyTexture(gl, gl.SRGB8_ALPHA8, this, this.dotted ? 'levels' : 'plain-levels');
    this.moments = emptyTexture(gl, gl.RGBA16F, this, hasMips(gl) ? 'plain-levels' : 'blended');
    this.marks = emptyTexture(gl, gl.RG8, this, 'plain-levels');
    this.relief = emptyTexture(gl, gl.RG16F, this, 'blended');
    this.opensWood = this.lying?.opensWood ?? false;
    if (planes) {
      this.passes.drawPlanes(planes, [this.color, this.relief], this);
      this.stage = 'moments';
    }
    this.allocated = true;
  }

  private sendRows(gl: WebGL2RenderingContext): void {
    const swath = this.surface.swaths[this.sent.length];
    if (!swath) {
      if (this.whole) this.stage = 'moments';
      return;
    }
    const { width } = this;
    const rows = Math.min(swath.rows - this.rowInSwath, Math.max(1, Math.floor(CELLS_PER_UPLOAD / width)));
    const from = this.rowInSwath * width;
    const to = from + rows * width;
    const y = swath.y0 + this.rowInSwath;
    sendPlainly(gl);
    gl.bindTexture(gl.TEXTURE_2D, this.color);
    const color = swath.color.subarray(from * 4, to * 4);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, y, width, rows, gl.RGBA, gl.UNSIGNED_BYTE, color);
    gl.bindTexture(gl.TEXTURE_2D, this.relief);
    const relief = swath.relief.subarray(from * 2, to * 2);
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, y, width, rows, gl.RG, gl.HALF_FLOAT, relief);
    this.opensWood ||= burnsThrough(relief);
    this.rowInSwath += rows;
    if (this.rowInSwath >= swath.rows) {
      this.sent.push(swath);
      this.rowInSwath = 0;
    }
  }

  private drawMoments(gl: WebGL2RenderingContext): void {
    const rows = Math.min(this.height - this.momentsRow, Math.max(1, Math.floor(CELLS_PER_DRAW / this.width)));
    this.passes.drawMoments(this.relief, [this.moments, this.marks], this, this.momentsRow, rows);
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
      gl.bindTexture(gl.TEXTURE_2D, texture);
      gl.generateMipmap(gl.TEXTURE_2D);
    }
    this.mipsMade += 1;
    if (this.mipsMade === textures.length) this.stage = 'ready';
  }

  dispose(): void {
    for (const texture of [this.color, this.moments, this.marks, this.relief]) this.gl.deleteTexture(texture);
  }
}

/** Depth that counts as 1 in the marks texture; the same number is in shaders/paint.frag. */
const DEPTH_RANGE_UM = 80;

const MOMENTS_FRAGMENT = `
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

type Textures = readonly (WebGLTexture | null)[];

/** Turns relief into slope moments and marks (shaders/slope-moments.glsl), and planes of a card into colour and relief. */
export class SurfacePasses {
  private readonly gl: WebGL2RenderingContext;
  private readonly target: Target;
  private readonly moments: ProgramFamily;
  private readonly planes: ProgramFamily;

  constructor(gl: WebGL2RenderingContext) {
    this.gl = gl;
    // What floats and what planes become is drawn into.
    gl.getExtension('EXT_color_buffer_float');
    this.target = new Target(gl);
    this.moments = new ProgramFamily(gl, EVERY_CELL, MOMENTS_FRAGMENT);
    this.planes = new ProgramFamily(gl, EVERY_CELL, planesFragment);
  }

  drawMoments(
    relief: WebGLTexture | null,
    into: Textures,
    { width, height, pitchMm }: GpuSurface,
    row: number,
    rows: number,
  ): void {
    this.target.into(...into);
    this.moments.with([]).use({ uRelief: relief, uLast: [width - 1, height - 1], uCellMm: pitchMm });
    drawCells(this.gl, width, height, row, rows);
    this.target.into();
  }

  /** Turns planes into colour (SRGB8_ALPHA8) and relief (RG16F), both of which every card that gives planes can draw into. */
  drawPlanes(planes: SurfacePlanes, into: Textures, size: Pick<GpuSurface, 'width' | 'height'>): void {
    const { gl } = this;
    const { width, height } = size;
    const stack = stackOf(size);
    const texture = emptyTexture(gl, gl.RGBA8, stack);
    sendPlainly(gl);
    if (planes instanceof Uint8Array) {
      gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, stack.width, stack.height, gl.RGBA, gl.UNSIGNED_BYTE, planes);
    } else {
      gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, gl.RGBA, gl.UNSIGNED_BYTE, planes);
      planes.close();
    }
    this.target.into(...into);
    this.planes.with([]).use({ uPlanes: texture, uNext: stack.down ? [0, height] : [width, 0] });
    drawCells(gl, width, height);
    this.target.into();
    gl.deleteTexture(texture);
  }

  dispose(): void {
    this.target.dispose();
    this.moments.dispose();
    this.planes.dispose();
  }
}

/**
 * What the proof hands to the view: the burned surface, cell by cell, in swaths.
 *
 * Rows run from the picture's top to its bottom, cells from left to right. The view keeps the swaths by reference (it needs
 * them again after a lost graphics context) and never writes to them; whoever makes them must not write to them either once
 * they are in a surface.
 */
export interface ProofSwath {
  /** First row of the swath. */
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
 * A proof as the view draws it. A surface grows: the maker appends swaths (in any order of rows) and raises `version`, and sets
 * `complete` with the last one. A surface with other contents needs another `id` or other swaths; nothing is drawn before a
 * surface is complete and wholly on the graphics card.
 */
export interface ProofSurface {
  /**
   * Left out: there are swaths of it only. Else it is there whole; whether some cell is burned through to the wood. `take` hands over its
   * planes, once; null if they are gone. Its swaths may follow; they are what is left of it after a lost context.
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
  readonly swaths: readonly ProofSwath[];
  /** Whether all swaths are there. */
  readonly complete: boolean;
  /** Raised whenever swaths were added. */
  readonly version: number;
}
