import { ColorSpace, deltaE2000, Lab_D65, Lab as LabSpace, sRGB, sRGB_Linear, to, XYZ_D65 } from 'colorjs.io/fn';
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
