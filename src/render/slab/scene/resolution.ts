/** What the browser says draws WebGL; empty where it does not tell. */
export function rendererName(gl: WebGLRenderingContext | WebGL2RenderingContext): string {
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  return String(gl.getParameter(info ? info.UNMASKED_RENDERER_WEBGL : gl.RENDERER) ?? '');
}

export const isSoftwareRenderer = (name: string): boolean =>
  /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);

const SLOW_MS = 48;
const FAST_MS = 20;
const SMALLEST = 0.34;
const FRAMES_PER_STEP = 3;
const SETTLE_MS = 170;

/**
 * Decides how many pixels to draw: as many as the screen has when nothing moves, fewer while something does, and fewer still while
 * frames come late. It never decides on a single late frame.
 */
export class Resolution {
  private scale: number;
  private frames = 0;
  private total = 0;
  private recentMs = 16;

  constructor(software: boolean) {
    this.scale = software ? 0.42 : 1;
  }

  /** Tells the time since the last frame of a movement, ms; gaps between movements do not count. */
  note(frameMs: number): void {
    if (!(frameMs > 0) || frameMs > 600) return;
    this.recentMs += (frameMs - this.recentMs) * 0.3;
    this.frames += 1;
    this.total += frameMs;
    if (this.frames < FRAMES_PER_STEP) return;
    const mean = this.total / this.frames;
    if (mean > SLOW_MS) this.scale = Math.max(SMALLEST, this.scale * Math.max(0.7, Math.sqrt(SLOW_MS / mean)));
    else if (mean < FAST_MS) this.scale = Math.min(1, this.scale * 1.12);
    this.frames = 0;
    this.total = 0;
  }

  /** After this long without movement the picture is drawn in full; longer where frames are slow, or it would come in between. */
  get settleMs(): number {
    return Math.max(SETTLE_MS, 3 * this.recentMs);
  }

  pixelRatio(moving: boolean, devicePixelRatio: number, dpr: readonly [number, number]): number {
    const full = Math.min(dpr[1], Math.max(dpr[0], devicePixelRatio));
    return moving ? Math.min(full, dpr[0]) * this.scale : full;
  }
}
