import { boundsMm } from '../../../base/geometry/polygon.ts';
import { addQuarters, turnBounds, turnDefect, turnPolygon } from '../../../vision/slab/quarter-turn.ts';
import type { Draft, Face, RimReading } from './draft.ts';

/** The draft a quarter turn further: 1 clockwise, -1 back. */
export function turnDraft(draft: Draft, quarters: 1 | -1): Draft {
  const outline = turnPolygon(draft.outline, quarters);
  return {
    ...draft,
    outline,
    view: turnBounds(draft.view, quarters),
    face: draft.face && turnFace(draft.face, quarters),
    rim: draft.rim && turnRim(draft.rim, quarters),
    // A rim that was not read yet for this outline is still not.
    rimOf: draft.rimOf === draft.outline ? outline : turnPolygon(draft.rimOf, quarters),
    defects: draft.defects.map(({ defect, on }) => ({ defect: turnDefect(defect, quarters), on })),
  };
}

/** What was read of a face as it was found, in the frame it has been turned to. */
export const turnRim = (rim: RimReading, quarters: number): RimReading => ({
  ...rim,
  paintable: turnPolygon(rim.paintable, quarters),
});

function turnFace(face: Face, quarters: number): Face {
  const { left, top, right, bottom } = turnBounds(
    boundsMm([
      [face.leftMm, face.topMm],
      [face.leftMm + face.widthMm, face.topMm + face.heightMm],
    ]),
    quarters,
  );
  return {
    ...face,
    quarters: addQuarters(face.quarters, quarters),
    leftMm: left,
    topMm: top,
    widthMm: right - left,
    heightMm: bottom - top,
  };
}
