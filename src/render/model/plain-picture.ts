import { encodeSrgbByte, srgbDecodingTable } from '../../base/color/srgb.ts';
import { createFace } from '../../physics/raster/face.ts';
import type { Slab } from '../../piece/schema.ts';
import { periodicNoise } from '../mesh/outline.ts';
import { BARK_MM } from '../mesh/rim.ts';
import { type FaceMap, type Rgba, shownPhoto } from './face-map.ts';

interface PlainLight {
  /** Azimuth 0 is the picture's top, growing clockwise; elevation above the slab. */
  readonly azimuthRad: number;
  readonly elevationRad: number;
}

/** Border round the slab over its longer side. */
const BORDER = 0.09;
/** Linear rgb of the paper that it lies on, and of bark. Estimates. */
const PAPER = [0.6, 0.575, 0.54];
const BARK = [0.14, 0.095, 0.063];
/** Share of the light that comes from the lamp; the rest is the room's. */
const LAMP_SHARE = 0.5;
/** How far the slab's shadow reaches over its thickness, and how soft it is, mm. */
const SOFT_MM = 7;

/**
 * A slab from above under a soft lamp, from colour and height alone: what can be drawn where no graphics are at hand. No gloss, one
 * shadow with a soft border.
 */
export function plainPicture(slab: Slab, face: FaceMap, lamp: PlainLight, widthPx: number): Rgba {
  const linear = srgbDecodingTable(8);
  const border = BORDER * Math.max(slab.widthMm, slab.heightMm);
  const pixelMm = (slab.widthMm + 2 * border) / widthPx;
  const width = widthPx;
  const height = Math.round((slab.heightMm + 2 * border) / pixelMm);
  const data = new Uint8Array(width * height * 4).fill(255);
  const outline = createFace(slab);
  const level = Math.cos(lamp.elevationRad);
  const sine = Math.sin(lamp.elevationRad);
  const toLamp = [Math.sin(lamp.azimuthRad) * level, -Math.cos(lamp.azimuthRad) * level];
  const reach = Math.min(3, level / Math.max(0.2, sine)) * slab.thicknessMm;
  const perCode = (face.highUm - face.lowUm) / 255 / 1000;
  const faceMm = slab.widthMm / face.width;
  const live = slab.edge === 'bark' && shownPhoto(slab) === null;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const xMm = (x + 0.5) * pixelMm - border - slab.widthMm / 2;
      const yMm = (y + 0.5) * pixelMm - border - slab.heightMm / 2;
      const inMm = outline.rimDistanceMm(xMm, yMm);
      const rgb = [0, 0, 0];
      const onSlab = Math.min(1, Math.max(0, inMm / pixelMm + 0.5));
      if (onSlab < 1) {
        // The middle of the shadow's way tells how deep in it a place is.
        const deep = Math.max(
          ...[0.25, 0.6, 1].map((share) => {
            const far = outline.rimDistanceMm(xMm + toLamp[0] * reach * share, yMm + toLamp[1] * reach * share);
            return Math.min(1, Math.max(0, 0.5 + far / (SOFT_MM * (0.4 + share))));
          }),
        );
        const near = Math.exp(Math.min(0, inMm) / (0.5 * slab.thicknessMm));
        const light = 1 - LAMP_SHARE * deep - 0.22 * near;
        for (let k = 0; k < 3; k++) rgb[k] = PAPER[k] * light;
      }
      if (onSlab > 0) {
        const u = Math.min(face.width - 1, Math.max(0, Math.floor((xMm + slab.widthMm / 2) / faceMm)));
        const v = Math.min(face.height - 1, Math.max(0, Math.floor((yMm + slab.heightMm / 2) / faceMm)));
        const at = (i: number, j: number): number =>
          face.relief[
            4 * (Math.min(face.height - 1, Math.max(0, j)) * face.width + Math.min(face.width - 1, Math.max(0, i)))
          ];
        const east = ((at(u + 1, v) - at(u - 1, v)) * perCode) / (2 * faceMm);
        const south = ((at(u, v + 1) - at(u, v - 1)) * perCode) / (2 * faceMm);
        const facing =
          Math.max(0, sine - east * toLamp[0] - south * toLamp[1]) / Math.hypot(1, east, south) / Math.max(sine, 0.2);
        const light = 1 - LAMP_SHARE + LAMP_SHARE * facing;
        const mean = meanColor(face, linear, xMm + slab.widthMm / 2, yMm + slab.heightMm / 2, pixelMm, faceMm);
        const rough = 0.6 + 0.8 * periodicNoise(xMm / 1.4, yMm / 1.4, 4096, 4096, 5);
        const bark = live ? Math.min(1, Math.max(0, (BARK_MM * 0.5 - inMm) / 0.7)) : 0;
        const rolled = live ? 1 : 0.75 + 0.25 * Math.min(1, inMm / 0.9);
        for (let k = 0; k < 3; k++) {
          const own = (mean[k] + (BARK[k] * rough - mean[k]) * bark) * light * rolled;
          rgb[k] += (own - rgb[k]) * onSlab;
        }
      }
      for (let k = 0; k < 3; k++) data[4 * (y * width + x) + k] = encodeSrgbByte(rgb[k]);
    }
  }
  return { width, height, data };
}

/** Mean linear colour of the face over a pixel. */
function meanColor(
  face: FaceMap,
  linear: Float32Array,
  xMm: number,
  yMm: number,
  pixelMm: number,
  faceMm: number,
): number[] {
  const from = (mm: number, most: number) => Math.min(most - 1, Math.max(0, Math.floor((mm - pixelMm / 2) / faceMm)));
  const to = (mm: number, most: number) => Math.min(most, Math.max(1, Math.ceil((mm + pixelMm / 2) / faceMm)));
  const sum = [0, 0, 0];
  let count = 0;
  for (let v = from(yMm, face.height); v < to(yMm, face.height); v++) {
    for (let u = from(xMm, face.width); u < to(xMm, face.width); u++) {
      for (let k = 0; k < 3; k++) sum[k] += linear[face.color[4 * (v * face.width + u) + k]];
      count++;
    }
  }
  return sum.map((value) => value / Math.max(1, count));
}
