/** A picture to be drawn with: decoded by the browser, or as RGBA bytes. */
export type Picture = TexImageSource | { readonly width: number; readonly height: number; readonly data: Uint8Array };

export interface PictureKind {
  /** Whether it is coded as sRGB and is to be averaged as light. */
  readonly srgb: boolean;
  readonly repeats: 'no' | 'along' | 'both';
  /** Whether software may spare itself blending between levels. */
  readonly plain?: boolean;
}

/** Whether a graphics card draws, which can afford to filter slanting textures well. */
export function anisotropyOf(gl: WebGL2RenderingContext): number {
  const info = gl.getExtension('WEBGL_debug_renderer_info');
  const name = info ? String(gl.getParameter(info.UNMASKED_RENDERER_WEBGL)) : '';
  return /swiftshader|llvmpipe|software|basic render/i.test(name) ? 1 : 8;
}

export function loadPicture(
  gl: WebGL2RenderingContext,
  picture: Picture,
  { srgb, repeats, plain }: PictureKind,
): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  gl.pixelStorei(gl.UNPACK_FLIP_Y_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_PREMULTIPLY_ALPHA_WEBGL, false);
  gl.pixelStorei(gl.UNPACK_COLORSPACE_CONVERSION_WEBGL, gl.NONE);
  const inside = srgb ? gl.SRGB8_ALPHA8 : gl.RGBA8;
  if ('data' in picture && picture.data instanceof Uint8Array)
    gl.texImage2D(gl.TEXTURE_2D, 0, inside, picture.width, picture.height, 0, gl.RGBA, gl.UNSIGNED_BYTE, picture.data);
  else gl.texImage2D(gl.TEXTURE_2D, 0, inside, gl.RGBA, gl.UNSIGNED_BYTE, picture as TexImageSource);
  gl.generateMipmap(gl.TEXTURE_2D);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_S, repeats === 'no' ? gl.CLAMP_TO_EDGE : gl.REPEAT);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_WRAP_T, repeats === 'both' ? gl.REPEAT : gl.CLAMP_TO_EDGE);
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MAG_FILTER, gl.LINEAR);
  const most = anisotropyOf(gl);
  const nearest = plain && most === 1;
  gl.texParameteri(gl.TEXTURE_2D, gl.TEXTURE_MIN_FILTER, nearest ? gl.LINEAR_MIPMAP_NEAREST : gl.LINEAR_MIPMAP_LINEAR);
  const filter = most > 1 ? gl.getExtension('EXT_texture_filter_anisotropic') : null;
  if (filter) gl.texParameterf(gl.TEXTURE_2D, filter.TEXTURE_MAX_ANISOTROPY_EXT, most);
  return texture;
}

/** A texture to draw into, read texel by texel. */
export function emptyTexture(gl: WebGL2RenderingContext, format: number, width: number, height: number): WebGLTexture {
  const texture = gl.createTexture();
  gl.bindTexture(gl.TEXTURE_2D, texture);
  gl.texStorage2D(gl.TEXTURE_2D, 1, format, width, height);
  for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
  for (const name of [gl.TEXTURE_WRAP_S, gl.TEXTURE_WRAP_T]) gl.texParameteri(gl.TEXTURE_2D, name, gl.CLAMP_TO_EDGE);
  return texture;
}
