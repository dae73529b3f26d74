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
