import type { Photo, Preparation } from '../../burn/prepare.ts';
import { wattsAtLevel } from '../../physics/beam/source.ts';
import { passTime } from '../../physics/raster/pass-time.ts';
import type { Pass, Piece } from '../../piece/schema.ts';

/** How long a pass takes, s, from the rows it really travels. */
export function passSeconds(preparation: Preparation, photo: Photo, piece: Piece, pass: Pass): number {
  const fires = (level: number) => wattsAtLevel(piece.machine.source, pass, level) > 0;
  const { spans, raster } = preparation.screen(photo, piece, pass, fires);
  return passTime(spans, raster.pitchMm, pass, piece.machine.motion).timeS;
}
