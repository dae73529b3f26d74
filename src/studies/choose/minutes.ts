import { passTime } from '../../physics/raster/pass-time.ts';
import type { Motion, Pass } from '../../piece/schema.ts';
import type { Facts } from './facts.ts';

/** Minutes of a pass over the picture's extent: as the machine would travel it, but for dark edges and gaps that it may pass over. */
export function passMinutes({ rowsMm: { binMm, first, end } }: Facts, pass: Pass, motion: Motion): number {
  const pitch = pass.rowPitchMm;
  const rows = Math.floor((first.length * binMm) / pitch);
  const firsts = new Int32Array(rows);
  const ends = new Int32Array(rows);
  const backwards = new Uint8Array(rows);
  const left = Math.min(...first.filter(Number.isFinite));
  let turned = 0;
  for (let row = 0; row < rows; row++) {
    const bin = Math.min(first.length - 1, Math.floor(((row + 0.5) * pitch) / binMm));
    if (end[bin] <= first[bin]) continue;
    firsts[row] = Math.round((first[bin] - left) / pitch);
    ends[row] = Math.round((end[bin] - left) / pitch);
    backwards[row] = turned;
    if (pass.rows === 'two-way') turned = 1 - turned;
  }
  return passTime({ first: firsts, end: ends, backwards }, pitch, pass, motion).timeS / 60;
}
