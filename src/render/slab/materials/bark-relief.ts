import type { DataTexture } from 'three';
import { createSlopeTexture } from './slope-texture.ts';

/** The tile of bark's heights as a texture. */
export const createBarkTexture = (heights: Float32Array, anisotropy: number): DataTexture =>
  createSlopeTexture(heights, Math.sqrt(heights.length), anisotropy);
