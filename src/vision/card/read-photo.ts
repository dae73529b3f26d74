import { Matrix, solve } from 'ml-matrix';
import { type Lab, labToLinearRgb, linearRgbToLab } from '../../base/color/lab.ts';
import { luminanceOf, srgbDecodingTable } from '../../base/color/srgb.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { intactColor } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';
import { lensOfPhoto, rectifyPhoto } from '../slab/rectify.ts';
import { type Card, type CardBox, EDGE_MM, MARK_MM, markCentres } from './card.ts';
import { type LocatedCard, locateCard } from './locate-card.ts';
import { labelBox, vernierTeeth } from './picture.ts';
import { type CardReading, ReadingError } from './reading.ts';

/** What is known of the colours on the card. */
interface CardColors {
  /** Intact paint, and the coat under it laid bare. */
  readonly paint: Lab;
  readonly bare: Lab;
  /** What lies on the reference place: the bare undercoat, or a chip of a known colour. */
  readonly reference: Lab;
}

/** Colours as the piece has them; `reference` is the bare undercoat unless a chip lies there. */
export function cardColors({ stack, slab }: Piece, chip: Lab | null = null): CardColors {
  const bare = linearRgbToLab(intactColor({ ...stack, coats: stack.coats.slice(1) }, slab.wood));
  return { paint: linearRgbToLab(intactColor(stack, slab.wood)), bare, reference: chip ?? bare };
}

export interface PhotoReading {
  readonly reading: CardReading;
  /** Corner marks in the photo, pixels, clockwise from the card's left top. */
  readonly marksPx: readonly (readonly [number, number])[];
  /** 0–1: how sharp the marks are. */
  readonly sharpness: number;
  /** A sentence on what makes the reading less sure; null for a good photo. */
  readonly warning: string | null;
}

/** Of L* and b* by a photograph; of a line's width, mm (estimates that the tests of rendered photographs bear out). */
const COLOR_DEVIATION = 1.2;

const SHADED_DEVIATION = 1.8;

const WIDTH_DEVIATION_MM = 0.015;

/** A patch counts only if all of it is seen and nothing in it is burned out. */
const LEAST_SEEN = 0.999;

const MOST_CLIPPED = 0.02;

/**
 * Reads a card off a photograph or a scan: found by its marks, laid flat, evened out by its own paint, white-balanced on its reference.
 * @param located where the card lies, if somebody has pointed it out.
 * @throws ReadingError saying what is wrong with the photo and what to do.
 */
export function readCardPhoto(
  photo: RgbaPhoto,
  card: Card,
  colors: CardColors,
  located: LocatedCard = locateCard(photo, card),
): PhotoReading {
  if (located.pxPerMm < LEAST_PX_PER_MM) {
    throw new ReadingError(
      `the card is only ${Math.round(located.pxPerMm * card.widthMm)} pixels wide in the photograph; come closer, so that it fills most of the picture`,
    );
  }
  const flat = flattenCard(photo, card, located);
  const sharpness = checkSharp(flat, card);
  const { paint, samples } = evenOut(flat, card);
  const { lights, shaded } = mendShade(flat, card, samples);
  balance(flat, card, paint, colors);
  const edges = new Set(shaded ? [...lights].filter(([, light]) => isOnEdge(light)).map(([id]) => id) : []);
  const deviation = shaded ? SHADED_DEVIATION : COLOR_DEVIATION;
  const missing: string[] = [];
  const glared: string[] = [];
  const patches: CardReading['patches'] = [];
  for (const { id, box } of card.patches) {
    const inset = Math.max(0.6, 0.15 * box.widthMm);
    const { rgb, seen, clipped } = meanOver(flat, box, inset);
    if (seen < LEAST_SEEN) missing.push(id);
    else if (clipped > MOST_CLIPPED) glared.push(id);
    else {
      const lab = linearRgbToLab(rgb);
      patches.push({
        id,
        lab: [Math.min(100, Math.max(0, lab[0])), lab[1], lab[2]],
        deviation: edges.has(id) ? Math.hypot(deviation, shadeDeviation(lab[0], lights.get(id) ?? null)) : deviation,
        mottle: mottleOf(flat, box, inset),
      });
    }
  }
  if (missing.length > 0.2 * card.patches.length) {
    throw new ReadingError(
      `${missing.length} patches lie outside the photograph (${missing.slice(0, 6).join(', ')} …): photograph the whole card`,
    );
  }
  if (glared.length > 0.2 * card.patches.length) {
    throw new ReadingError(
      `${glared.length} patches are burned out in the photograph (${glared.slice(0, 6).join(', ')} …): photograph it again with less light, and without glare`,
    );
  }
  if (edges.size > MOST_ON_EDGES * lights.size) {
    throw new ReadingError(
      `a shadow lies over the card, and its edge over ${edges.size} patches or lines (${[...edges].slice(0, 6).join(', ')} …): photograph it again in even light`,
    );
  }
  const reading: CardReading = {
    format: 'foreburn-reading',
    version: 1,
    kind: card.kind,
    cardId: card.id,
    how: 'photo',
    patches,
    firsts: [],
    lines: card.lines.map(({ id, box }) => ({
      id,
      measure: 'equivalent' as const,
      widthMm: Math.min(20, Math.max(0, lineWidth(flat, box, colors))),
      deviation: edges.has(id) ? 3 * WIDTH_DEVIATION_MM : WIDTH_DEVIATION_MM,
    })),
    rowOffset: card.vernier ? rowOffsetOf(flat, card.vernier) : null,
  };
  const warning = shaded ? shadeWarning([...edges]) : null;
  return { reading, marksPx: located.marksPx, sharpness, warning };
}

const LEAST_PX_PER_MM = 6;

/** Share of the patches and lines over which a shadow's edge may lie, and how much light may differ over the reference place (logarithm). */
const MOST_ON_EDGES = 0.34;

const REFERENCE_SPREAD = 0.18;

/**
 * Mends what light does not fall evenly: each patch, line and the reference place gets the light that the paint round it tells of. Nothing
 * is changed under even light.
 * @throws ReadingError if an edge of shade lies over the reference place.
 */
function mendShade(flat: FlatCard, card: Card, samples: readonly PaintSample[]) {
  const parts = [...card.patches, ...card.lines];
  const lights = new Map(parts.map(({ id, box }) => [id, lightRound(box, samples)]));
  const reference = lightRound(card.reference, samples);
  const shaded = isShaded([...lights.values(), reference]);
  if (shaded) {
    if (isOnEdge(reference, REFERENCE_SPREAD)) {
      throw new ReadingError(
        'a shadow’s edge lies over the reference place, from which the colours are taken: photograph the card again in even light',
      );
    }
    relight(flat, card.reference, 0, Math.exp(-(reference?.level ?? 0)));
    for (const { id, box } of card.patches) relight(flat, box, 0, Math.exp(-(lights.get(id)?.level ?? 0)));
    for (const { id, box } of card.lines) relight(flat, box, 1.5, Math.exp(-(lights.get(id)?.level ?? 0)));
  }
  return { lights, shaded };
}

const shadeWarning = (edges: readonly string[]): string =>
  edges.length > 0
    ? `Light does not fall evenly on the card: a shadow’s edge or glare lies by ${edges.join(', ')}, which count for less. A photograph in even light shows more.`
    : 'Light does not fall evenly on the card; it was evened out by the paint. A photograph in even light shows more.';

/** Brings reference and paint to their known colours: per channel a factor, and a shift for stray light that lifts the dark. */
function balance(flat: FlatCard, card: Card, paint: readonly number[], colors: CardColors): void {
  const { rgb: seen, clipped } = meanOver(flat, card.reference, 1);
  if (clipped > MOST_CLIPPED) {
    throw new ReadingError(
      'the reference place is burned out in the photograph: photograph the card again with less light',
    );
  }
  const wanted = labToLinearRgb(colors.reference);
  const dark = labToLinearRgb(colors.paint);
  if (luminanceOf(seen) < 1.5 * luminanceOf(paint) !== luminanceOf(wanted) < 1.5 * luminanceOf(dark)) {
    throw new ReadingError(
      'the reference place is as dark as the paint: it must be bare undercoat (taped off when the top coat is laid), or have a grey or white chip of known colour on it',
    );
  }
  for (let k = 0; k < 3; k++) {
    const factor = (wanted[k] - dark[k]) / Math.max(1e-6, seen[k] - paint[k]);
    for (let i = k; i < flat.rgb.length; i += 3) flat.rgb[i] = dark[k] + factor * (flat.rgb[i] - paint[k]);
  }
}

/** Standard deviation of L* over tiles of a millimetre. */
function mottleOf(flat: FlatCard, box: CardBox, inset: number): number {
  const values: number[] = [];
  for (let y = box.yMm + inset; y + 1 <= box.yMm + box.heightMm - inset + 1e-9; y++) {
    for (let x = box.xMm + inset; x + 1 <= box.xMm + box.widthMm - inset + 1e-9; x++) {
      const { rgb } = meanOver(flat, { xMm: x, yMm: y, widthMm: 1, heightMm: 1 });
      values.push(linearRgbToLab(rgb)[0]);
    }
  }
  if (values.length < 2) return 0;
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.min(100, Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length));
}

/** Light that a line adds to the paint on both sides of it, as width of a bare line; blur does not change it. */
function lineWidth(flat: FlatCard, { xMm, yMm, widthMm, heightMm }: CardBox, colors: CardColors): number {
  const across = widthMm === 0;
  const length = across ? heightMm : widthMm;
  const band = (from: number, to: number): number => {
    const box: CardBox = across
      ? { xMm: xMm + from, yMm: yMm + 0.15 * length, widthMm: to - from, heightMm: 0.7 * length }
      : { xMm: xMm + 0.15 * length, yMm: yMm + from, widthMm: 0.7 * length, heightMm: to - from };
    return luminanceOf(meanOver(flat, box).rgb);
  };
  // The line is one row high: its middle is half a row below its place, less than a pixel.
  const paint = (band(-1.2, -0.6) + band(0.7, 1.3)) / 2;
  const luminance = (lab: Lab) => luminanceOf(labToLinearRgb(lab));
  return (1.1 * (band(-0.5, 0.6) - paint)) / Math.max(1e-6, luminance(colors.bare) - luminance(colors.paint));
}

/** Where the strokes of both directions really lie, over where they should: mean over all of them. */
function rowOffsetOf(flat: FlatCard, vernier: NonNullable<Card['vernier']>): CardReading['rowOffset'] {
  const { box } = vernier;
  const half = box.heightMm / 2;
  const shifts = [0, 1].map((lower) =>
    vernierTeeth(vernier).map(({ forwardMm, backwardMm }) => {
      const middle = lower ? backwardMm : forwardMm;
      let [sum, weight] = [0, 0];
      const strip = (x: number) =>
        meanOver(flat, { xMm: x, yMm: box.yMm + lower * half + 0.3, widthMm: flat.mmPerPixel, heightMm: half - 0.6 })
          .rgb[1];
      const dark = Math.min(strip(middle - 0.6), strip(middle + 0.6));
      for (let x = middle - 0.6; x < middle + 0.6; x += flat.mmPerPixel) {
        const light = Math.max(0, strip(x) - dark);
        sum += light * (Math.round(x / flat.mmPerPixel) * flat.mmPerPixel + flat.mmPerPixel / 2 - middle);
        weight += light;
      }
      return weight > 0 ? sum / weight : 0;
    }),
  );
  const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const mm = mean(shifts[1]) - mean(shifts[0]);
  return { mm: Math.min(5, Math.max(-5, mm)), deviation: 0.01 };
}

/** The card laid flat at true size: linear light, three values a pixel; transparent where the photo does not show it. */
interface FlatCard {
  readonly width: number;
  readonly height: number;
  readonly mmPerPixel: number;
  readonly rgb: Float32Array;
  readonly seen: Uint8Array;
  /** Shares of pixels that are at the top of their range. */
  readonly clipped: Uint8Array;
}

const MM_PER_PIXEL = 0.1;

function flattenCard(photo: RgbaPhoto, card: Card, { toMm }: LocatedCard): FlatCard {
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

interface BoxMean {
  readonly rgb: [number, number, number];
  /** Share of the box that the photo shows, and of it that is clipped. */
  readonly seen: number;
  readonly clipped: number;
}

/** Mean over a box, `inset` mm from its sides. */
function meanOver(flat: FlatCard, { xMm, yMm, widthMm, heightMm }: CardBox, inset = 0): BoxMean {
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
function relight(flat: FlatCard, { xMm, yMm, widthMm, heightMm }: CardBox, room: number, factor: number): void {
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
function checkSharp(flat: FlatCard, card: Card): number {
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
      'the photograph is blurred: the corner marks run together. Hold the camera still, let it focus, come closer or use a scanner',
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
function evenOut(flat: FlatCard, card: Card): { paint: [number, number, number]; samples: PaintSample[] } {
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

/** A square millimetre of intact paint: where its middle lies, mm, and the logarithm of its luminance over that of evenly falling light. */
interface PaintSample {
  readonly xMm: number;
  readonly yMm: number;
  readonly off: number;
}

interface LocalLight {
  /** Logarithm of the light round a box over evenly falling light. */
  readonly level: number;
  /** How much it differs round the box, logarithm. */
  readonly spread: number;
}

/** How far round a box its light is asked for, mm: to the paint beyond the labels. */
const ROUND_MM = 4;

const LEAST_SAMPLES = 4;

/** What the paint round a box says of the light on it; null where none is near. */
function lightRound({ xMm, yMm, widthMm, heightMm }: CardBox, samples: readonly PaintSample[]): LocalLight | null {
  const near = samples
    .filter(
      (one) =>
        Math.max(xMm - one.xMm, one.xMm - xMm - widthMm) < ROUND_MM / 2 &&
        Math.max(yMm - one.yMm, one.yMm - yMm - heightMm) < ROUND_MM,
    )
    .map(({ off }) => off)
    .sort((a, b) => a - b);
  if (near.length < LEAST_SAMPLES) return null;
  const at = (share: number) => near[Math.round(share * (near.length - 1))];
  return { level: at(0.5), spread: at(0.9) - at(0.1) };
}

/** Paint in even light differs by less round any patch, and from one patch to the next (rendered photographs: 0.05 and 0.016). */
const EVEN_SPREAD = 0.08;

const EVEN_LEVEL = 0.05;

/** Whether some light does not fall evenly: an edge of shade, or a patch of it. */
const isShaded = (lights: readonly (LocalLight | null)[]): boolean =>
  lights.some((light) => light !== null && (light.spread > EVEN_SPREAD || Math.abs(light.level) > EVEN_LEVEL));

/** Whether the light on a box is not one but several, so that it cannot be mended. */
const isOnEdge = (light: LocalLight | null, spread = EVEN_SPREAD): boolean => light === null || light.spread > spread;

/** How far off L* may be where light differs by so much within reach, as a standard deviation: half of it, either way. */
const shadeDeviation = (lightness: number, light: LocalLight | null): number =>
  ((lightness + 16) / 3) * 0.5 * (light?.spread ?? 0.3);
