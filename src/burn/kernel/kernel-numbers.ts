import type { BurnPassInput } from './contract.ts';

type Thirteen = [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
  number,
];

/** The numbers that `burnCell` takes after `wanted`, in its order. */
export function kernelNumbers({
  coats,
  thicknessRows,
  subX,
  subY,
  phases,
  weights,
  place,
  stride,
}: BurnPassInput): Thirteen {
  const { rowOrigin, rowPerX, rowPerY, columnOrigin, columnPerX, columnPerY } = place;
  return [
    coats,
    thicknessRows,
    subX,
    subY,
    phases,
    weights.width,
    rowOrigin,
    rowPerX,
    rowPerY,
    columnOrigin,
    columnPerX,
    columnPerY,
    stride,
  ];
}
