import type { Point } from '../../base/geometry/point.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import type { PassRaster } from '../../physics/raster/pass-raster.ts';
import type { Piece } from '../../piece/schema.ts';

/** Where a pass's raster lies on the bed, mm: place (u, v) in dots is at `origin + u · along + v · across`. */
export interface BedMap {
  readonly origin: Point;
  readonly along: Point;
  readonly across: Point;
}

const snap = (value: number): number => (Math.abs(value - Math.round(value)) < 1e-9 ? Math.round(value) : value);

/** The picture's centre on the bed, mm. */
export const pictureCentre = ({ placement, picture }: Pick<Piece, 'placement' | 'picture'>): Point =>
  slabToBed(placement, [picture.offsetXMm, picture.offsetYMm]);

/** A raster turns about the picture's centre with its heading and with the slab. */
export function createBedMap(piece: Pick<Piece, 'placement' | 'picture'>, raster: PassRaster): BedMap {
  const turn = raster.headingRad + piece.placement.turnRad;
  const cosine = snap(Math.cos(turn));
  const sine = snap(Math.sin(turn));
  const { pitchMm, columns, rows } = raster;
  const along = [pitchMm * cosine, pitchMm * sine] as const;
  const across = [pitchMm * sine, -pitchMm * cosine] as const;
  const [x, y] = pictureCentre(piece);
  return {
    along,
    across,
    origin: [
      x - (columns / 2) * along[0] - (rows / 2) * across[0],
      y - (columns / 2) * along[1] - (rows / 2) * across[1],
    ],
  };
}

export const onBed = ({ origin, along, across }: BedMap, u: number, v: number): [number, number] => [
  origin[0] + u * along[0] + v * across[0],
  origin[1] + u * along[1] + v * across[1],
];
