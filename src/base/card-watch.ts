/** What computed or drew is gone or has failed: what it gave is refused, and it is to be chosen anew. */
export class DeviceLost extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'DeviceLost';
  }
}

/** As much of WebGL 2 as is needed here; this layer knows no browser. */
interface Gl {
  readonly FRAMEBUFFER: number;
  readonly FRAMEBUFFER_BINDING: number;
  readonly COLOR_ATTACHMENT0: number;
  readonly TEXTURE_2D: number;
  readonly TEXTURE_BINDING_2D: number;
  readonly RGBA: number;
  readonly UNSIGNED_BYTE: number;
  isContextLost(): boolean;
  getParameter(name: number): unknown;
  createTexture(): unknown;
  createFramebuffer(): unknown;
  bindTexture(target: number, texture: unknown): void;
  bindFramebuffer(target: number, framebuffer: unknown): void;
  framebufferTexture2D(target: number, attachment: number, kind: number, texture: unknown, level: number): void;
  texImage2D(...args: readonly unknown[]): void;
  readPixels(...args: readonly unknown[]): void;
}

export const CARD_LOST = 'The graphics card stopped working meanwhile. Try again.';

const TOKEN = new Uint8Array([201, 87, 33, 255]);

/**
 * Watches a context of WebGL 2. A card that is gone reads back zeros without an error, and the browser tells of the loss only later;
 * so a pixel that is known is read back after what matters. A context that is lost never comes back: if the pixel is right, all that
 * was read before it is.
 * @returns what throws DeviceLost if the context is gone.
 */
export function watchContext(gl: Gl): () => void {
  const pixelOf = gl.createFramebuffer();
  within(() => {
    const texture = gl.createTexture();
    const bound = gl.getParameter(gl.TEXTURE_BINDING_2D);
    gl.bindTexture(gl.TEXTURE_2D, texture);
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGBA, 1, 1, 0, gl.RGBA, gl.UNSIGNED_BYTE, TOKEN);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.COLOR_ATTACHMENT0, gl.TEXTURE_2D, texture, 0);
    gl.bindTexture(gl.TEXTURE_2D, bound);
  });

  function within(work: () => void): void {
    const bound = gl.getParameter(gl.FRAMEBUFFER_BINDING);
    gl.bindFramebuffer(gl.FRAMEBUFFER, pixelOf);
    work();
    gl.bindFramebuffer(gl.FRAMEBUFFER, bound);
  }

  return () => {
    const pixel = new Uint8Array(TOKEN.length);
    within(() => gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, pixel));
    if (gl.isContextLost() || TOKEN.some((value, i) => pixel[i] !== value)) {
      throw new DeviceLost(CARD_LOST);
    }
  };
}
