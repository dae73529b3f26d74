import { ExternalTexture, type WebGLRenderer } from 'three';
import type { MomentsPass } from './moments-pass.ts';
import type { ProofStrip, ProofSurface } from './proof-surface.ts';

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
const CELLS_PER_DRAW = 1 << 19;

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
  private readonly sent: ProofStrip[] = [];
  private rowInStrip = 0;
  private momentsRow = 0;
  private mipsMade = 0;
  opensWood = false;

  private surface: ProofSurface;
  private readonly renderer: WebGLRenderer;
  private readonly pass: MomentsPass;
  private readonly anisotropy: number;
  private readonly dotted: boolean;

  /** `dotted`: its colours change from cell to cell. */
  constructor(surface: ProofSurface, renderer: WebGLRenderer, pass: MomentsPass, anisotropy: number, dotted: boolean) {
    this.surface = surface;
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
      (this.stage !== 'ready' || surface.strips.length === this.sent.length) &&
      this.sent.every((strip, i) => surface.strips[i] === strip)
    );
  }

  follow(surface: ProofSurface): void {
    this.surface = surface;
  }

  /** Whether `advance` has something to do now. */
  get hasWork(): boolean {
    if (this.stage === 'ready') return false;
    return this.stage !== 'strips' || this.sent.length < this.surface.strips.length || this.surface.complete;
  }

  /** Whether the next piece of work only sends rows; the others keep the graphics card busy for a while. */
  get sending(): boolean {
    return this.stage === 'strips';
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
    this.color.sourceTexture = allocate(gl, gl.SRGB8_ALPHA8, width, height, true, blend || this.dotted);
    this.moments.sourceTexture = allocate(gl, gl.RGBA16F, width, height, mips, blend);
    this.marks.sourceTexture = allocate(gl, gl.RG8, width, height, true, blend);
    this.relief = allocate(gl, gl.RG16F, width, height, false);
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
      if (this.surface.complete) this.stage = 'moments';
      return;
    }
    const { width } = this;
    const rows = Math.min(strip.rows - this.rowInStrip, Math.max(1, Math.floor(CELLS_PER_UPLOAD / width)));
    const from = this.rowInStrip * width;
    const to = from + rows * width;
    const y = strip.y0 + this.rowInStrip;
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
    this.rowInStrip += rows;
    if (this.rowInStrip >= strip.rows) {
      this.sent.push(strip);
      this.rowInStrip = 0;
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
    this.relief = null;
    this.stage = 'strips';
    this.sent.length = 0;
    this.rowInStrip = 0;
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
