import type { Piece } from '../../piece/schema.ts';
import { percentWords } from './paper-words.ts';

/** What is done one after another at the bench, from the raw slab to the finished one. Common practice, no published source. */
export function orderOfWork(piece: Piece): string[] {
  const { slab, stack, placement, passes } = piece;
  const steps: string[] = [];
  if (slab.finish === 'sanded') steps.push('Sand the face; brush and vacuum the dust off.');
  if (slab.checks.some(({ filled }) => filled) || slab.knots.some(({ filled }) => filled)) {
    steps.push('Fill the cracks that are to be filled, let the filler harden, sand it flush.');
  }
  if (slab.maskedRimMm > 0 && stack.coats.length > 0) {
    steps.push(
      `Tape the rim off, ${slab.maskedRimMm.toFixed(0)} mm wide: a little onto the dark rim rather than short of it.`,
    );
  }
  for (const coat of stack.coats.toReversed()) {
    const layers = coat.layers === 1 ? 'one layer' : `${coat.layers} layers`;
    steps.push(
      `${coat.name}: ${layers}, ${coat.dryHours} h to dry after each${coat.sandedAfter ? '; then rub it down' : ''}.`,
    );
  }
  if (stack.coats.length > 0) steps.push(`Let it cure for ${stack.cureHours} h.`);
  if (slab.maskedRimMm > 0 && stack.coats.length > 0) steps.push('Take the tape off.');
  steps.push(
    'Lay the slab on the bed as drawn; pin it so that it cannot move.',
    'Set the focus on the middle of the face.',
    placement.pilotPower > 0
      ? `Perimeter walk at ${percentWords(placement.pilotPower)}: outline first, then the picture’s edge.`
      : 'Perimeter walk with the beam off: outline first, then the picture’s edge.',
    'Try the powers below; set what clears.',
    'Extraction on, enclosure shut, extinguisher at hand. Stay with it.',
  );
  passes.forEach((_, i) => {
    steps.push(
      i === 0
        ? 'Burn pass 1.'
        : `Leave the slab where it is; look at it under a low lamp. Burn pass ${i + 1} if it is still needed.`,
    );
  });
  steps.push(
    'Before the slab is moved: look at it under a low lamp, then decide.',
    'Brush off the ash; seal if wanted.',
  );
  return steps;
}

/** What makes a later pass land on an earlier one. Common practice, no published source. */
export function registration({ placement }: Piece): string[] {
  return [
    'The slab has not been moved, and nothing has leaned on it.',
    'The head parks at the picture’s centre after each pass; start the next one from there.',
    'The machine has not been homed, switched off or stalled in between; if it has, set it on its marks again.',
    placement.referenceMark
      ? 'The reference mark in the margin was burned: bring the pilot beam onto it and check before you go on.'
      : 'If in doubt, walk the picture’s edge with the beam off and compare it with what is burned.',
  ];
}
