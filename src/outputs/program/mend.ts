import type { Control } from '../../piece/control-schema.ts';
import type { Motion, Pass, PictureSettings, Piece, Placement } from '../../piece/schema.ts';

/** A change that makes a refused job possible, as plain data, with what a button for it says. */
export interface JobMend {
  readonly label: string;
  readonly control?: Partial<Control>;
  readonly motion?: Partial<Motion>;
  readonly placement?: Partial<Placement>;
  readonly picture?: Partial<PictureSettings>;
  readonly pass?: { readonly index: number; readonly part: Partial<Pass> };
}

/** Why there is no program: a sentence with the number that is wrong and the nearest that works, and the change to it where it is plain. */
export interface JobRefusal {
  readonly message: string;
  readonly mend: JobMend | null;
}

/** Thrown where a program was asked for. */
export class JobRefused extends Error {
  readonly refusals: readonly JobRefusal[];

  constructor(refusals: readonly JobRefusal[]) {
    super(refusals.map(({ message }) => message).join(' '));
    this.name = 'JobRefused';
    this.refusals = refusals;
  }
}

export function mendPiece(piece: Piece, { control, motion, placement, picture, pass }: JobMend): Piece {
  return {
    ...piece,
    machine: {
      ...piece.machine,
      control: { ...piece.machine.control, ...control },
      motion: { ...piece.machine.motion, ...motion },
    },
    placement: { ...piece.placement, ...placement },
    picture: { ...piece.picture, ...picture },
    passes: piece.passes.map((one, i) => (i === pass?.index ? { ...one, ...pass.part } : one)),
  };
}
