import type { Piece } from '../../piece/schema.ts';
import { fullRunUpMm } from '../../raster/motion.ts';
import { feedOf } from '../../raster/pass-time.ts';

/** What a pass's program does that its maker may not expect; sentences. */
export function passCautions(piece: Piece, index: number): string[] {
  const pass = piece.passes[index];
  const { motion, control } = piece.machine;
  const cautions: string[] = [];
  const rampMm = fullRunUpMm(feedOf(pass, motion), motion.accelerationMmPerS2);
  if (motion.runUpMm < rampMm - 1e-9) {
    const wants = Math.ceil(10 * rampMm) / 10;
    const follows = motion.powerAtRamps === 'follows-feed';
    cautions.push(
      follows === (control.beam === 'follows-speed')
        ? `The run-up of ${motion.runUpMm} mm is shorter than the ${wants} mm that this feed takes${follows ? '' : ': the ends of rows burn deeper, as the proof shows'}.`
        : `The run-up of ${motion.runUpMm} mm is shorter than the ${wants} mm that this feed takes, and there the proof has the power ${follows ? 'follow the speed' : 'held'} but ${control.beam === 'holds-power' ? 'M3 holds it' : 'with M4 it follows the speed'}.`,
    );
  }
  if (pass.rows === 'two-way' && pass.rowOffsetErrorMm !== 0 && !control.correctRowOffset) {
    cautions.push(
      `Rows burned backwards land ${pass.rowOffsetErrorMm} mm off, as the proof shows; the program can make up for it.`,
    );
  }
  return cautions;
}
