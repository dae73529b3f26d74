import type { Piece } from '../../piece/schema.ts';

/** How to lay a further pass onto the one before, step by step. Common practice, no published source. */
export function registrationSteps({ placement, machine }: Pick<Piece, 'placement' | 'machine'>): string[] {
  const parked = machine.control.park === 'picture-centre';
  return [
    'Leave the slab clamped where it is; if it has to come off, mark its outline on the bed with tape first.',
    'Do not send the machine to its switches and do not switch it off in between: a new search for them can land a few tenths of a millimetre beside the old.',
    parked
      ? 'The pass before ends parked over the middle of the picture. Start the next one from there, without moving the head by hand.'
      : 'Let every pass end parked over the middle of the picture (Hand over, the machine’s controller), so that the next one can start from there.',
    placement.referenceMark
      ? 'Put the head over the reference mark in the margin and check with the beam at its lowest that it still meets the mark.'
      : 'There is no reference mark on this piece. A small one in the margin, burned with the first pass, tells at once if something moved (Slab, place on the bed).',
    'Keep row pitch, heading and rows as they were: the dots must fall on the dots of the pass before.',
    'Burn the ladder first on an edge of the picture, from the lowest power up, and stop at the first step that clears.',
    'Class 4 beam: eyewear for the wavelength or a closed cover, extraction running, extinguisher at hand, and never leave it alone.',
  ];
}
