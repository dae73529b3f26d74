import { Matrix, solve } from 'ml-matrix';
import { luminanceOf } from '../../base/color/luminance.ts';
import { srgbDecodingTable } from '../../base/color/srgb-decoding.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { lensOfPhoto } from '../slab/lens.ts';
import { rectifyPhoto } from '../slab/rectify.ts';
import type { Card, CardBox } from './card.ts';
import { EDGE_MM, MARK_MM, markCentres } from './geometry.ts';
import type { LocatedCard } from './locate-card.ts';
import { labelBox } from './picture.ts';
import { ReadingError } from './reading.ts';
import type { PaintSample } from './shade.ts';

/** The card laid flat at true size: linear light, three values a pixel; transparent where the photo does not show it. */
export interface FlatCard {
  readonly width: number;
  readonly height: number;
  readonly mmPerPixel: number;
  readonly rgb: Float32Array;
  readonly seen: Uint8Array;
  /** Shares of pixels that are at the top of their range. */
  readonly clipped: Uint8Array;
}

const MM_PER_PIXEL = 0.1;

export function flattenCard(photo: RgbaPhoto, card: Card, { toMm }: LocatedCard): FlatCard {
  const area = { leftMm: 0, topMm: 0, widthMm: card.widthMm, heightMm: card.heightMm };
  const { width, height, rgba } = rectifyPhoto(photo, { lens: lensOfPhoto(photo), toMm }, area, MM_PER_PIXEL);
  const linear = srgbDecodingTable(8);
  const rgb = new Float32Array(3 * width * height);
  const seen = new Uint8Array(width * height);
  const clipped = new Uint8Array(width * height);
  for (let i = 0; i < seen.length; i++) {
    seen[i] = rgba[4 * i + 3] > 250 ? 1 : 0;
    clipped[i] = Math.max(rgba[4 * i], rgba[4 * i + 1], rgba[4 * i + 2]) >= 254 ? 1 : 0;
    for (let k = 0; k < 3; k++) rgb[3 * i + k] = linear[rgba[4 * i + k]];
  }
  return { width, height, mmPerPixel: MM_PER_PIXEL, rgb, seen, clipped };
}

export interface BoxMean {
  readonly rgb: [number, number, number];
  /** Share of the box that the photo shows, and of it that is clipped. */
  readonly seen: number;
  readonly clipped: number;
}

/** Mean over a box, `inset` mm from its sides. */
export function meanOver(flat: FlatCard, { xMm, yMm, widthMm, heightMm }: CardBox, inset = 0): BoxMean {
  const from = (mm: number) => Math.max(0, Math.round((mm + inset) / flat.mmPerPixel));
  const rgb: [number, number, number] = [0, 0, 0];
  let [seen, clipped, all] = [0, 0, 0];
  const right = Math.min(flat.width, Math.round((xMm + widthMm - inset) / flat.mmPerPixel));
  const bottom = Math.min(flat.height, Math.round((yMm + heightMm - inset) / flat.mmPerPixel));
  for (let y = from(yMm); y < bottom; y++) {
    for (let x = from(xMm); x < right; x++) {
      const i = y * flat.width + x;
      all++;
      if (!flat.seen[i]) continue;
      seen++;
      clipped += flat.clipped[i];
      for (let k = 0; k < 3; k++) rgb[k] += flat.rgb[3 * i + k];
    }
  }
  const count = Math.max(1, seen);
  return {
    rgb: [rgb[0] / count, rgb[1] / count, rgb[2] / count],
    seen: all > 0 ? seen / all : 0,
    clipped: clipped / count,
  };
}

/** Changes the light on a box and `room` mm round it by a factor. */
export function relight(flat: FlatCard, { xMm, yMm, widthMm, heightMm }: CardBox, room: number, factor: number): void {
  const place = (mm: number, end: number) => Math.min(end, Math.max(0, Math.round(mm / flat.mmPerPixel)));
  const [left, right] = [place(xMm - room, flat.width), place(xMm + widthMm + room, flat.width)];
  for (let y = place(yMm - room, flat.height); y < place(yMm + heightMm + room, flat.height); y++) {
    for (let i = 3 * (y * flat.width + left); i < 3 * (y * flat.width + right); i++) flat.rgb[i] *= factor;
  }
}

/** Half of the place between ring and middle of a mark that a sharp photo leaves dark; less than this and widths cannot be read. */
const LEAST_MODULATION = 0.45;

/**
 * How much of the dark gap between a mark's ring and its middle is left: 1 in a sharp photo, 0 where it has run together.
 * @throws ReadingError if the photo is too blurred.
 */
export function checkSharp(flat: FlatCard, card: Card): number {
  const value = (x: number, y: number, side: number) => {
    const { rgb } = meanOver(flat, { xMm: x - side / 2, yMm: y - side / 2, widthMm: side, heightMm: side });
    return rgb[0] + rgb[1] + rgb[2];
  };
  const modulations = markCentres(card).map(([x, y]) => {
    const gaps = [value(x - 1.4, y, 0.3), value(x + 1.4, y, 0.3), value(x, y - 1.4, 0.3), value(x, y + 1.4, 0.3)];
    const gap = gaps.reduce((sum, one) => sum + one, 0) / 4;
    const lit = (value(x, y, 0.6) + value(x - 2.4, y, 0.4) + value(x + 2.4, y, 0.4)) / 3;
    const paint = Math.min(
      value(x < card.widthMm / 2 ? x + 4.2 : x - 4.2, y < card.heightMm / 2 ? y + 4.2 : y - 4.2, 0.8),
      gap,
    );
    return (lit - gap) / Math.max(1e-6, lit - paint);
  });
  const worst = Math.min(...modulations);
  if (worst < LEAST_MODULATION) {
    throw new ReadingError(
      'the photo is blurred: the corner marks run together. Hold the camera still, let it focus, come closer or use a scanner',
    );
  }
  return worst;
}

/** Intact paint must not be this much brighter than its surroundings, as a factor, over more than such a share of the card. */
const GLARE = 1.5;
const MOST_GLARE = 0.03;

/**
 * Evens out the light over the card by the intact paint between and round its patches: a quadratic in the logarithm of its luminance. Changes
 * `flat.rgb`, relative to the card's middle. Returns the paint's mean colour, and how the light on the paint differs from that.
 * @throws ReadingError if light glares on the paint.
 */
export function evenOut(flat: FlatCard, card: Card): { paint: [number, number, number]; samples: PaintSample[] } {
  const samples: { x: number; y: number; log: number; rgb: number[] }[] = [];
  const free = paintMask(card);
  for (let y = 0; y < Math.floor(card.heightMm); y++) {
    for (let x = 0; x < Math.floor(card.widthMm); x++) {
      if (!free(x, y)) continue;
      const { rgb, seen } = meanOver(flat, { xMm: x, yMm: y, widthMm: 1, heightMm: 1 });
      const light = luminanceOf(rgb);
      if (seen === 1 && light > 0) samples.push({ ...unit(card, x + 0.5, y + 0.5), log: Math.log(light), rgb });
    }
  }
  if (samples.length < 40)
    throw new ReadingError(
      'too little of the card’s own paint can be seen to even out the light by; photograph the whole card',
    );
  const terms = (u: number, v: number) => [1, u, v, u * u, u * v, v * v];
  let weights = samples.map(() => 1);
  let shape = [0, 0, 0, 0, 0, 0];
  let off: number[] = [];
  for (let round = 0; round < 6; round++) {
    const rows = samples.map(({ x, y }, i) => terms(x, y).map((term) => term * weights[i]));
    shape = solve(
      new Matrix(rows),
      Matrix.columnVector(samples.map(({ log }, i) => log * weights[i])),
      true,
    ).to1DArray();
    const now = shape;
    off = samples.map(({ x, y, log }) => log - terms(x, y).reduce((sum, term, k) => sum + term * now[k], 0));
    // Glare and dirt pull; what is far off soon counts for nothing.
    const scale = Math.max(0.02, median(off.map(Math.abs)) * 1.5);
    weights = off.map((value) => Math.sqrt(1 / (1 + (value / (2 * scale)) ** 2)));
  }
  const glared = off.filter((value) => value > Math.log(GLARE)).length / off.length;
  if (glared > MOST_GLARE) {
    throw new ReadingError(
      `light glares on ${Math.round(100 * glared)} % of the card: turn it or the lamp so that nothing shines off it, or photograph it in the shade`,
    );
  }
  for (let j = 0; j < flat.height; j++) {
    for (let i = 0; i < flat.width; i++) {
      const { x, y } = unit(card, (i + 0.5) * flat.mmPerPixel, (j + 0.5) * flat.mmPerPixel);
      const gain = Math.exp(shape[0] - terms(x, y).reduce((sum, term, k) => sum + term * shape[k], 0));
      for (let k = 0; k < 3; k++) flat.rgb[3 * (j * flat.width + i) + k] *= gain;
    }
  }
  const paint: [number, number, number] = [0, 0, 0];
  let total = 0;
  samples.forEach(({ x, y, rgb }, i) => {
    const gain = Math.exp(shape[0] - terms(x, y).reduce((sum, term, k) => sum + term * shape[k], 0));
    total += weights[i];
    for (let k = 0; k < 3; k++) paint[k] += weights[i] * gain * Math.exp(-off[i]) * rgb[k];
  });
  return {
    paint: paint.map((value) => value / total) as [number, number, number],
    samples: samples.map(({ x, y }, i) => ({
      xMm: ((x + 1) * card.widthMm) / 2,
      yMm: ((y + 1) * card.heightMm) / 2,
      off: off[i],
    })),
  };
}

const unit = (card: Card, x: number, y: number) => ({ x: (2 * x) / card.widthMm - 1, y: (2 * y) / card.heightMm - 1 });

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)];
}

/** Whether the square millimetre at (x, y) is intact paint, well away from everything that is burned or bare. */
function paintMask(card: Card): (x: number, y: number) => boolean {
  const columns = Math.floor(card.widthMm);
  const taken = new Uint8Array(columns * Math.floor(card.heightMm));
  const take = ({ xMm, yMm, widthMm, heightMm }: CardBox, room: number) => {
    for (
      let y = Math.max(0, Math.floor(yMm - room));
      y < Math.min(Math.floor(card.heightMm), Math.ceil(yMm + heightMm + room));
      y++
    ) {
      taken.fill(
        1,
        y * columns + Math.max(0, Math.floor(xMm - room)),
        y * columns + Math.min(columns, Math.ceil(xMm + widthMm + room)),
      );
    }
  };
  for (const { box } of card.patches) take(box, 0.6);
  for (const { box, label } of [...card.patches, ...card.lines]) take(labelBox(label, box), 0.4);
  for (const { box } of card.lines) take(box, 0.8);
  if (card.vernier) take(card.vernier.box, 0.8);
  take(card.reference, 0.8);
  for (const [x, y] of markCentres(card)) take({ xMm: x - 3, yMm: y - 3, widthMm: 6, heightMm: 6 }, 0.8);
  take({ xMm: EDGE_MM, yMm: EDGE_MM + 1.5, widthMm: card.widthMm - 2 * EDGE_MM, heightMm: MARK_MM - 3 }, 0.2);
  // The card's own rim may be chipped or show its side.
  return (x, y) => x >= 1 && y >= 1 && x < card.widthMm - 1 && y < card.heightMm - 1 && taken[y * columns + x] === 0;
}
