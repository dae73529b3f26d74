import { fullRunUpMm } from '../../physics/raster/motion.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Piece } from '../../piece/schema.ts';

/** What to heed where a burn that broke off is taken up from a row, counted from 1; sentences. */
export function takeUpCautions({ machine }: Piece, fromRow: number): string[] {
  const before =
    fromRow > 1 ? `Rows before row ${fromRow} are taken as burned: look that row ${fromRow - 1} is whole. ` : '';
  return [
    `${before}What of row ${fromRow} was burned already gets the beam twice.`,
    machine.control.zero === 'picture-centre'
      ? 'The slab must lie as it did, and the head must stand over the picture’s centre as exactly as before when the program starts.'
      : 'The slab must lie as it did. After a power cut the machine has to find its place again, which can be a few tenths of a millimetre off: run the lap round the picture, or over the reference mark, with the beam off or at pilot power first.',
    'Before you start: beam off, the jam cleared, the lens clean, the slab cold and nothing glowing.',
  ];
}

/** The same in a program's comments. */
export const takeUpNotes = (fromRow: number, rows: number): readonly string[] => [
  `Taken up from row ${fromRow} of ${rows}: rows before it must be burned already.`,
  'Slab and positions as in the first run. Look that the beam is off first.',
];

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
