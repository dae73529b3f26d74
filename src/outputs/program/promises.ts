import type { Point } from '../../base/geometry/point.ts';
import { MM_PER_INCH } from '../../base/units.ts';
import { slabToBed } from '../../physics/bed/bed.ts';
import { picturePerimeter } from '../../physics/bed/perimeter.ts';
import { feedOf, passTime } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';
import { createBedMap } from './bed-map.ts';
import { zeroOnBed } from './frame.ts';
import { strokeOnBed } from './mark-program.ts';
import { rowTravel, type ScreenedRaster } from './pass-program.ts';
import { createPowerWords } from './power-words.ts';
import type { ProgramPromise } from './promise.ts';
import { markStrokes } from './reference-mark.ts';
import { type BedBox, boxAround } from './travel-box.ts';
import { walkFeed } from './walk-program.ts';

/** A pass: light in the placed picture only, rows and time as planned. */
export function passPromise(
  piece: Piece,
  index: number,
  { raster, spans }: ScreenedRaster,
  photo: { width: number; height: number },
): ProgramPromise {
  const pass = piece.passes[index];
  const { motion } = piece.machine;
  const shiftMm = rowTravel(piece, index).backwardsDots * pass.rowPitchMm;
  const { across } = createBedMap(piece, raster);
  const { timeS, rows: count } = passTime(spans, pass.rowPitchMm, pass, motion, shiftMm);
  const edge = picturePerimeter({ ...piece.picture, crop: 'rectangle' }, photo);
  // The raster covers whole dots.
  const beyondMm = 1.5 * pass.rowPitchMm + Math.abs(shiftMm);
  return {
    ...commonPromise(piece, feedOf(pass, motion)),
    turns: false,
    light: moved(piece, boxAround(edge.map((point) => slabToBed(piece.placement, point))), beyondMm),
    rows: {
      count,
      across: [across[0] / pass.rowPitchMm, across[1] / pass.rowPitchMm],
      pitchMm: pass.rowPitchMm,
      timeS,
      maxFeedMmPerS: motion.maxFeedMmPerS,
      accelerationMmPerS2: motion.accelerationMmPerS2,
    },
  };
}

/** A lap along a path of slab places: light on the path only, and none where the pilot beam is off. */
export function walkPromise(piece: Piece, path: readonly Point[]): ProgramPromise {
  const lit = createPowerWords(piece.machine).steps(piece.placement.pilotPower) > 0;
  const box = boxAround(path.map((point) => slabToBed(piece.placement, point)));
  return {
    ...commonPromise(piece, walkFeed(piece)),
    turns: true,
    light: lit ? moved(piece, box, 0) : null,
    rows: null,
  };
}

/** The reference mark: light on its strokes only. */
export function markPromise(piece: Piece, place: Point): ProgramPromise {
  const ends = markStrokes(place).flatMap((stroke) => strokeOnBed(piece, stroke).slice(1, 3));
  const feed = feedOf(piece.passes[0], piece.machine.motion);
  return { ...commonPromise(piece, feed), turns: false, light: moved(piece, boxAround(ends), 0), rows: null };
}

function commonPromise(piece: Piece, feedMmPerS: number): Omit<ProgramPromise, 'light' | 'rows' | 'turns'> {
  const { control } = piece.machine;
  const { bedWidthMm, bedHeightMm } = piece.placement;
  const power = createPowerWords(piece.machine);
  return {
    travel: moved(piece, { left: 0, right: bedWidthMm, near: 0, far: bedHeightMm }, 0),
    beam: control.beam === 'holds-power' ? 'M3' : 'M4',
    mostS: power.most / 10 ** power.decimals,
    feedMmPerS,
    stepMm: (control.units === 'inch' ? MM_PER_INCH : 1) / 10 ** control.decimals,
    fromZero: control.zero === 'picture-centre',
  };
}

/** A box on the bed in the program's own positions, with so much room round it, mm. */
function moved(piece: Piece, { left, right, near, far }: BedBox, byMm: number): BedBox {
  const [x, y] = zeroOnBed(piece);
  return { left: left - x - byMm, right: right - x + byMm, near: near - y - byMm, far: far - y + byMm };
}
