import { type Lab, labToLinearRgb, linearRgbToLab } from '../../base/color/lab.ts';
import { luminanceOf } from '../../base/color/luminance.ts';
import type { RgbaPhoto } from '../../base/geometry/rgba-photo.ts';
import { intactColor } from '../../physics/material/appearance.ts';
import type { Piece } from '../../piece/schema.ts';
import type { Card, CardBox } from './card.ts';
import { checkSharp, evenOut, type FlatCard, flattenCard, meanOver, relight } from './flat-card.ts';
import { type LocatedCard, locateCard } from './locate-card.ts';
import { vernierTeeth } from './picture.ts';
import { type CardReading, ReadingError } from './reading.ts';
import { isOnEdge, isShaded, lightRound, type PaintSample, shadeDeviation } from './shade.ts';

/** What is known of the colours on the card. */
export interface CardColors {
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
      `the card is only ${Math.round(located.pxPerMm * card.widthMm)} pixels wide in the photo; come closer, so that it fills most of the picture`,
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
      `${missing.length} patches lie outside the photo (${missing.slice(0, 6).join(', ')} …): photograph the whole card`,
    );
  }
  if (glared.length > 0.2 * card.patches.length) {
    throw new ReadingError(
      `${glared.length} patches are burned out in the photo (${glared.slice(0, 6).join(', ')} …): photograph it again with less light, and without glare`,
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
    ? `Light does not fall evenly on the card: a shadow’s edge or glare lies by ${edges.join(', ')}, which count for less. A photograph in even light tells more.`
    : 'Light does not fall evenly on the card; it was evened out by the paint. A photograph in even light tells more.';

/** Brings reference and paint to their known colours: per channel a factor, and a shift for stray light that lifts the dark. */
function balance(flat: FlatCard, card: Card, paint: readonly number[], colors: CardColors): void {
  const { rgb: seen, clipped } = meanOver(flat, card.reference, 1);
  if (clipped > MOST_CLIPPED) {
    throw new ReadingError('the reference place is burned out in the photo: photograph the card again with less light');
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
