import { wattsAtLevel } from '../../core/beam/source.ts';
import type { Pass, Piece } from '../../core/piece/schema.ts';
import { passTime } from '../../core/raster/pass-time.ts';
import type { Photo, Preparation } from '../prepare.ts';

/** How long a pass takes, s, from the rows it really travels. */
export function passSeconds(preparation: Preparation, photo: Photo, piece: Piece, pass: Pass): number {
  const fires = (level: number) => wattsAtLevel(piece.machine.source, pass, level) > 0;
  const { spans, raster } = preparation.screen(photo, piece, pass, fires);
  return passTime(spans, raster.pitchMm, pass, piece.machine.motion).timeS;
}
