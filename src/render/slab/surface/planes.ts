import fragment from '../../../../shaders/surface-planes.frag?raw';
import { TexelPass } from './texel-pass.ts';

/**
 * A burned picture as a graphics card gives it: three planes of bytes a cell (red, green and blue of a texel; alpha is unused), laid as
 * `stackOf` says. First plane: sRGB-encoded colour. Second: height as a half float, low byte first, and whether the cell is left dark.
 * Third: scorch as a half float, and whether it is burned through.
 */
export type SurfacePlanes = ImageBitmap | Uint8Array<ArrayBuffer>;

export const PLANES = 3;

/** How the planes of a picture lie in one texture: beside or under one another, whichever makes it less long. */
export function stackOf({ width, height }: { readonly width: number; readonly height: number }) {
  const down = height <= width;
  return { width: down ? width : PLANES * width, height: down ? PLANES * height : height, down };
}

export const createPlanesPass = (): TexelPass => new TexelPass(fragment);

/** Turns planes into textures of colour (SRGB8_ALPHA8) and relief (RG16F), both of which every card that gives planes can draw into. */
export function drawPlanes(
  gl: WebGL2RenderingContext,
  pass: TexelPass,
  planes: SurfacePlanes,
  targets: readonly [color: unknown, relief: unknown],
  { width, height }: { readonly width: number; readonly height: number },
): void {
  gl.getExtension('EXT_color_buffer_float');
  const stack = stackOf({ width, height });
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.texStorage2D(gl.TEXTURE_2D, 1, gl.RGBA8, stack.width, stack.height);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, gl.NEAREST);
  gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_COLORSPACE_CONVERSION_WEBGL, gl.NONE);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  if (planes instanceof Uint8Array) {
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, stack.width, stack.height, gl.RGBA, gl.UNSIGNED_BYTE, planes);
  } else {
    gl.texSubImage2D(gl.TEXTURE_2D, 0, 0, 0, gl.RGBA, gl.UNSIGNED_BYTE, planes);
    planes.close();
  }
  pass.draw(gl, {
    source: ['uPlanes', texture],
    targets,
    width,
    height,
    wholes: { uNext: stack.down ? [0, height] : [width, 0] },
  });
  gl.deleteTexture(texture);
}
