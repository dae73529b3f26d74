import sharp from 'sharp';
import { type Lab, labToLinearRgb } from '../../src/base/color/lab.ts';
import { encodeSrgb } from '../../src/base/color/srgb.ts';
import type { RgbaPhoto } from '../../src/base/geometry/rgba-photo.ts';
import { createGenerator } from '../../src/base/random/generator.ts';
import { type Card, markCentres } from '../../src/vision/card/card.ts';
import { cardPicture } from '../../src/vision/card/picture.ts';

/**
 * Photographs of cards that were never burned: known colours per patch, a pinhole camera held askew, light that falls off, a cast, blur,
 * sensor noise, JPEG. The geometry is a camera's (rotation and projection), not the homographies of the code under test.
 */
export interface CardShot {
  readonly width: number;
  readonly height: number;
  readonly tiltXRad: number;
  readonly tiltYRad: number;
  readonly turnRad: number;
  /** Light at left and right, top and bottom: changes by these shares either way. */
  readonly light: readonly [number, number];
  /** Gain of each channel. */
  readonly cast: readonly [number, number, number];
  /** Gaussian blur, standard deviation in pixels. */
  readonly blurPx: number;
  /** Codes. */
  readonly noise: number;
  readonly jpegQuality: number | null;
  readonly seed: number;
  /** Where on the card glare sits (mm), how wide and how strong. */
  readonly glare: {
    readonly at: readonly [number, number];
    readonly radiusMm: number;
    readonly strength: number;
  } | null;
  /** A straight edge of shade over the card: where it starts (mm), which way it goes on (rad, 0 to the right), how soft it is (mm), how much light it takes. */
  readonly shade?: {
    readonly at: readonly [number, number];
    readonly towardsRad: number;
    readonly softMm: number;
    readonly strength: number;
  } | null;
  /** Middle of the card in the picture, shares of its size. */
  readonly at: readonly [number, number];
  /** Share of the picture's width that the card takes. */
  readonly fills: number;
}
export const SHOT: CardShot = {
  width: 1200,
  height: 880,
  tiltXRad: 0.16,
  tiltYRad: -0.12,
  turnRad: 0.1,
  light: [0.25, 0.15],
  cast: [1.08, 1, 0.8],
  blurPx: 1.1,
  noise: 2,
  jpegQuality: 70,
  seed: 3,
  glare: null,
  at: [0.5, 0.5],
  fills: 0.72,
};

export interface CardLooks {
  readonly paint: Lab;
  readonly reference: Lab;
  readonly marks: Lab;
  readonly patches: ReadonlyMap<string, Lab>;
  /** Width of each line if it were wholly bare, mm. */
  readonly lines: ReadonlyMap<string, number>;
  /** How far backward strokes of the vernier are shifted, mm. */
  readonly rowOffsetMm?: number;
}

/** Where the card's marks lie in the picture, pixels. */
export const trueMarks = (card: Card, shot: CardShot): [number, number][] =>
  markCentres(card).map(([x, y]) => project(card, shot, x, y));

const FOCAL = 2.2;

/** Card in front of a camera: turned in its plane, tilted about both axes, then projected. */
function project(card: Card, shot: CardShot, xMm: number, yMm: number): [number, number] {
  const [ct, st] = [Math.cos(shot.turnRad), Math.sin(shot.turnRad)];
  const u = xMm - card.widthMm / 2;
  const v = yMm - card.heightMm / 2;
  const x = u * ct - v * st;
  const y = u * st + v * ct;
  const depth = 1 + (x * Math.sin(shot.tiltYRad) + y * Math.sin(shot.tiltXRad)) / (card.widthMm * FOCAL);
  const scale = (shot.width * shot.fills) / card.widthMm / depth;
  return [
    shot.width * shot.at[0] + scale * x * Math.cos(shot.tiltYRad),
    shot.height * shot.at[1] + scale * y * Math.cos(shot.tiltXRad),
  ];
}

function lightIn({ at, towardsRad, softMm, strength }: NonNullable<CardShot['shade']>, u: number, v: number): number {
  const beyond = (u - at[0]) * Math.cos(towardsRad) + (v - at[1]) * Math.sin(towardsRad);
  return 1 - strength * Math.min(1, Math.max(0, 0.5 + beyond / Math.max(0.1, softMm)));
}

/** What the way back goes by. With D the depth: x = P·D and y = Q·D for what the lens sees, and D = 1 + a·x + b·y. */
function lensOf(card: Card, shot: CardShot) {
  const [ct, st] = [Math.cos(shot.turnRad), Math.sin(shot.turnRad)];
  const a = Math.sin(shot.tiltYRad) / (card.widthMm * FOCAL);
  const b = Math.sin(shot.tiltXRad) / (card.widthMm * FOCAL);
  const scale = (shot.width * shot.fills) / card.widthMm;
  const acrossX = scale * Math.cos(shot.tiltYRad);
  const acrossY = scale * Math.cos(shot.tiltXRad);
  const [middleX, middleY] = [shot.width * shot.at[0], shot.height * shot.at[1]];
  return { ct, st, a, b, acrossX, acrossY, middleX, middleY };
}

const TABLE: Lab = [62, 4, 14];

/** Colour of each place of the card on a fine grid, linear. */
function paintCard(card: Card, looks: CardLooks, mmPerPixel: number) {
  const width = Math.round(card.widthMm / mmPerPixel);
  const height = Math.round(card.heightMm / mmPerPixel);
  const rgb = new Float32Array(3 * width * height);
  const paint = labToLinearRgb(looks.paint);
  for (let i = 0; i < rgb.length; i++) rgb[i] = paint[i % 3];
  const fill = (x0: number, y0: number, x1: number, y1: number, color: readonly number[], share = 1) => {
    for (let y = Math.round(y0 / mmPerPixel); y < Math.min(height, Math.round(y1 / mmPerPixel)); y++) {
      for (let x = Math.round(x0 / mmPerPixel); x < Math.min(width, Math.round(x1 / mmPerPixel)); x++) {
        for (let k = 0; k < 3; k++) {
          const at = 3 * (y * width + x) + k;
          rgb[at] += share * (color[k] - rgb[at]);
        }
      }
    }
  };
  // Marks, code and labels as the card's own picture has them.
  const mark = labToLinearRgb(looks.marks);
  const picture = cardPicture({
    ...card,
    patches: card.patches.map((patch) => ({ ...patch, burns: patch.burns.map((burn) => ({ ...burn, lightness: 0 })) })),
    lines: [],
    vernier: null,
  });
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const px = Math.min(picture.width - 1, Math.floor(((x + 0.5) * mmPerPixel) / card.pitchMm));
      const py = Math.min(picture.height - 1, Math.floor(((y + 0.5) * mmPerPixel) / card.pitchMm));
      if (picture.luminance[py * picture.width + px] > 0.5)
        for (let k = 0; k < 3; k++) rgb[3 * (y * width + x) + k] = mark[k];
    }
  }
  const at = ({ xMm, yMm, widthMm, heightMm }: Card['reference'], color: readonly number[]) =>
    fill(xMm, yMm, xMm + widthMm, yMm + heightMm, color);
  at(card.reference, labToLinearRgb(looks.reference));
  for (const { id, box } of card.patches) at(box, labToLinearRgb(looks.patches.get(id)!));
  for (const { id, box } of card.lines) {
    const wide = looks.lines.get(id) ?? 0;
    // A line is thinner than the grid: its light is spread over three tenths of a millimetre.
    const [x, y] = [box.xMm, box.yMm];
    if (box.widthMm === 0) fill(x - 0.1, y, x + 0.2, y + box.heightMm, mark, wide / 0.3);
    else fill(x, y - 0.1, x + box.widthMm, y + 0.2, mark, wide / 0.3);
  }
  if (card.vernier) {
    const { box, teeth, pitchMm, stepMm } = card.vernier;
    for (let i = 0; i < teeth; i++) {
      const k = i - (teeth - 1) / 2;
      const middle = box.xMm + box.widthMm / 2;
      const upper = middle + k * pitchMm;
      const lower = middle + k * (pitchMm + stepMm) + (looks.rowOffsetMm ?? 0);
      fill(upper - 0.15, box.yMm, upper + 0.15, box.yMm + box.heightMm / 2, mark, 0.5);
      fill(lower - 0.15, box.yMm + box.heightMm / 2, lower + 0.15, box.yMm + box.heightMm, mark, 0.5);
    }
  }
  return { width, height, rgb };
}

/** A card lying flat: three linear values a pixel. */
export interface FlatPaint {
  readonly width: number;
  readonly height: number;
  readonly rgb: Float32Array;
}

/** Cards that were painted already, by their looks: the same one is photographed many times. */
const painted = new WeakMap<CardLooks, { readonly card: Card; readonly flat: FlatPaint }>();

export function renderCardPhoto(card: Card, looks: CardLooks, shot: CardShot = SHOT): Promise<RgbaPhoto> {
  const known = painted.get(looks);
  const flat = known?.card === card ? known.flat : paintCard(card, looks, 0.05);
  painted.set(looks, { card, flat });
  return photographCard(card, flat, shot);
}

/** Noise of the sensor for so many values; that of the last photograph is kept, as most shots differ in something else. */
let lastNoise = { seed: Number.NaN, values: new Float64Array(0) };
function sensorNoise(seed: number, count: number): Float64Array {
  if (lastNoise.seed !== seed || lastNoise.values.length !== count) {
    const random = createGenerator(seed);
    lastNoise = { seed, values: Float64Array.from({ length: count }, () => random.nextNormal()) };
  }
  return lastNoise.values;
}

const STEPS = 65536;

const codes = Float64Array.from({ length: STEPS + 1 }, (_, i) => 255 * encodeSrgb(i / STEPS));

/** What the sensor makes of a light before its noise. */
const codeOf = (light: number): number => codes[Math.round(STEPS * Math.min(1, Math.max(0, 0.8 * light)))];

/** Photographs whatever lies on the card, its width being the card's. */
export async function photographCard(card: Card, flat: FlatPaint, shot: CardShot = SHOT): Promise<RgbaPhoto> {
  const mmPerPixel = card.widthMm / flat.width;
  const table = labToLinearRgb(TABLE);
  const { width, height, glare, shade } = shot;
  const bytes = new Uint8ClampedArray(3 * width * height);
  const noise = sensorNoise(shot.seed, bytes.length);
  const SUB = 2;
  const { ct, st, a, b, acrossX, acrossY, middleX, middleY } = lensOf(card, shot);
  const [halfWidthMm, halfHeightMm] = [card.widthMm / 2, card.heightMm / 2];
  const { rgb } = flat;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      let [red, green, blue] = [0, 0, 0];
      for (let s = 0; s < SUB * SUB; s++) {
        const px = x + ((s % SUB) + 0.5) / SUB;
        const py = y + (Math.floor(s / SUB) + 0.5) / SUB;
        const p = (px - middleX) / acrossX;
        const q = (py - middleY) / acrossY;
        const depth = 1 / (1 - a * p - b * q);
        const u = p * depth * ct + q * depth * st + halfWidthMm;
        const v = q * depth * ct - p * depth * st + halfHeightMm;
        const inside = u >= 0 && v >= 0 && u < card.widthMm && v < card.heightMm;
        const i =
          3 *
          (Math.min(flat.height - 1, Math.floor(v / mmPerPixel)) * flat.width +
            Math.min(flat.width - 1, Math.floor(u / mmPerPixel)));
        const shine =
          glare && inside
            ? glare.strength * Math.exp(-(((u - glare.at[0]) ** 2 + (v - glare.at[1]) ** 2) / glare.radiusMm ** 2))
            : 0;
        const lit = shade ? lightIn(shade, u, v) : 1;
        red += (lit * (inside ? rgb[i] : table[0]) + shine) / (SUB * SUB);
        green += (lit * (inside ? rgb[i + 1] : table[1]) + shine) / (SUB * SUB);
        blue += (lit * (inside ? rgb[i + 2] : table[2]) + shine) / (SUB * SUB);
      }
      const light = (1 + shot.light[0] * ((2 * x) / width - 1)) * (1 + shot.light[1] * ((2 * y) / height - 1));
      const at = 3 * (y * width + x);
      bytes[at] = codeOf(light * shot.cast[0] * red) + shot.noise * noise[at];
      bytes[at + 1] = codeOf(light * shot.cast[1] * green) + shot.noise * noise[at + 1];
      bytes[at + 2] = codeOf(light * shot.cast[2] * blue) + shot.noise * noise[at + 2];
    }
  }
  let image = sharp(bytes, { raw: { width, height, channels: 3 } });
  if (shot.blurPx > 0) image = image.blur(shot.blurPx);
  const file = shot.jpegQuality ? image.jpeg({ quality: shot.jpegQuality }) : image.png();
  const { data } = await sharp(await file.toBuffer())
    .ensureAlpha()
    .raw()
    .toBuffer({ resolveWithObject: true });
  return { width, height, rgba: new Uint8Array(data) };
}
