/** Luminance (CIE Y over that of white, 0–1) of linear sRGB. Source: weights of IEC 61966-2-1:1999, the primaries of Rec. ITU-R BT.709. */
export const luminanceOf = ([r, g, b]: readonly number[]): number => 0.2126 * r + 0.7152 * g + 0.0722 * b;
