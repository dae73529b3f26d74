import {
  ColorSpace,
  deltaE2000,
  Lab_D65,
  Lab as LabD50,
  Lab as LabSpace,
  sRGB,
  sRGB_Linear,
  to,
  XYZ_D65,
} from 'colorjs.io/fn';
import type { Triple } from './spectrum.ts';

/** CIE L*a*b* under D65: L* 0–100, a*, b*. */
export type Lab = [number, number, number];

/** Conversions by colorjs.io; CIE L*a*b* under D65, XYZ with Y of white = 1, sRGB of IEC 61966-2-1, all as plain triples. */
for (const space of [XYZ_D65, Lab_D65, LabSpace, sRGB_Linear, sRGB]) ColorSpace.register(space);

type Space = typeof XYZ_D65;

function convert(from: Space, into: Space, coords: Triple): [number, number, number] {
  const [x, y, z] = to({ space: from, coords: [coords[0], coords[1], coords[2]], alpha: 1 }, into).coords;
  return [x ?? 0, y ?? 0, z ?? 0];
}

export const labToXyz = (lab: Lab): [number, number, number] => convert(Lab_D65, XYZ_D65, lab);

export const xyzToLab = (xyz: Triple): Lab => convert(XYZ_D65, Lab_D65, xyz);

export const xyzToLinearRgb = (xyz: Triple): [number, number, number] => convert(XYZ_D65, sRGB_Linear, xyz);

export const linearRgbToLab = (rgb: Triple): Lab => convert(sRGB_Linear, Lab_D65, rgb);

export const labToLinearRgb = (lab: Lab): [number, number, number] => convert(Lab_D65, sRGB_Linear, lab);

/** The white that the conversions above are relative to. */
export const REFERENCE_WHITE: Triple = labToXyz([100, 0, 0]);

/** `#rrggbb` of a colour, clipped to sRGB. */
export function labToHex(lab: Lab): string {
  const digits = convert(Lab_D65, sRGB, lab).map((value) =>
    Math.round(255 * Math.min(1, Math.max(0, value)))
      .toString(16)
      .padStart(2, '0'),
  );
  return `#${digits.join('')}`;
}

/**
 * L*a*b* of `#rrggbb`.
 * @throws RangeError if the text has another form.
 */
export function hexToLab(hex: string): Lab {
  const match = /^#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})$/i.exec(hex);
  if (!match) throw new RangeError(`a colour is written as #rrggbb, got ${hex}`);
  const rgb = match.slice(1).map((digits) => Number.parseInt(digits, 16) / 255) as [number, number, number];
  return convert(sRGB, Lab_D65, rgb);
}

/** CIEDE2000 colour difference (Sharma, Wu & Dalal 2005). The formula does not depend on the white point. */
export function colorDifference(a: Lab, b: Lab): number {
  const color = (lab: Lab) => ({
    space: LabSpace,
    coords: [lab[0], lab[1], lab[2]] as [number, number, number],
    alpha: 1,
  });
  return deltaE2000(color(a), color(b));
}

ColorSpace.register(Lab_D65);

ColorSpace.register(LabD50);

/**
 * L*a*b* under D50 as under D65 and back: Bradford's linear adaptation, by colorjs.io. Exact for greys; a measured spectrum under the
 * other light differs from it by metamerism: a published brown paint by 0.51 and a white one by 0.34 ΔE00. Checked in
 * test/reference/adapt.test.ts.
 */
export const labFromD50 = (lab: Lab): Lab => adaptLab(LabD50, Lab_D65, lab);

export const labToD50 = (lab: Lab): Lab => adaptLab(Lab_D65, LabD50, lab);

function adaptLab(from: typeof LabD50, into: typeof LabD50, lab: Lab): Lab {
  const [l, a, b] = to({ space: from, coords: [lab[0], lab[1], lab[2]], alpha: 1 }, into).coords;
  return [l ?? 0, a ?? 0, b ?? 0];
}

/**
 * What a colour difference means side by side, in words.
 *
 * Classes up to 5: W. Mokrzycki & M. Tatol, "Colour difference ∆E – a survey", Machine Graphics & Vision 20(4) 383–411 (2011), as quoted
 * in the reference of the open library colour (colour.difference.JND_CIE1976). From 12: "different color" in the classification of
 * J. Korean Wood Sci. Technol. 48(1) (2020), table 1. Both were made for ΔE*ab; ΔE00 is read by them here, which is common practice.
 */
export function differenceWords(deltaE: number): string {
  if (deltaE < 1) return 'nobody sees a difference';
  if (deltaE < 2) return 'seen only side by side, by a trained eye';
  if (deltaE < 3.5) return 'seen side by side';
  if (deltaE < 5) return 'plainly seen';
  return deltaE < 12 ? 'another tint' : 'another colour';
}

/** What lies beside a painted patch so that a photograph of it can be read. */
interface PatchReference {
  readonly id: string;
  readonly label: string;
  readonly note: string;
  /** Its colour; null where the maker types its lightness. */
  readonly lab: Lab | null;
}

export const PATCH_REFERENCES = [
  // Value from memory; brighteners make some papers bluish by a few units of b*.
  { id: 'paper', label: 'White paper or card', note: 'Plain and matt, L* about 95.', lab: [95, 0, 0] },
  // BabelColor average of "white 9.5" under D65; see test/reference/paint-spectra.test.ts.
  { id: 'chart', label: 'White of a colour chart', note: 'The white patch, L* 96.5.', lab: [96.5, -0.9, 2.6] },
  // L* of Y = 0.18 by the formula of CIE 015.
  { id: 'grey', label: '18 % grey card', note: 'L* 49.5.', lab: [49.5, 0, 0] },
  { id: 'typed', label: 'Another neutral one', note: 'White or grey whose L* you know.', lab: null },
] as const satisfies readonly PatchReference[];

export type PatchReferenceId = (typeof PATCH_REFERENCES)[number]['id'];

/** Colour of a reference; `typedLightness` counts where the maker types it. */
export const referenceLab = (id: PatchReferenceId, typedLightness: number): Lab =>
  PATCH_REFERENCES.find((one) => one.id === id)?.lab ?? [typedLightness, 0, 0];
