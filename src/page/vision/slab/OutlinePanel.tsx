import { useEffect, useRef } from 'react';
import { Button } from 'react-aria-components';
import { findCrossing } from '../../../base/geometry/crossing.ts';
import { areaMm2, boundsMm } from '../../../base/geometry/polygon.ts';
import type { Defect } from '../../../vision/slab/defects.ts';
import { inBackground } from '../../faults/tell-fault.ts';
import { SwitchControl } from '../../fields/SwitchControl.tsx';
import { useLengthText } from '../../fields/use-length-text.ts';
import type { Draft } from './draft.ts';
import { cancelSlabWork, takeOver, turnFound } from './slab-photo-actions.ts';
import { editDraft, editWork, useSlabPhoto } from './slab-photo-store.ts';

/** What was found, what of it is wanted, and the way on. */
export function OutlinePanel({ draft }: { draft: Draft }) {
  const photo = useSlabPhoto((state) => state.photo !== null);
  const busy = useSlabPhoto((state) => state.busy !== null);
  const length = useLengthText();
  const { outline, rim, defects } = draft;
  const { left, top, right, bottom } = boundsMm(outline);
  const size = `${length(right - left)} × ${length(bottom - top)}`;
  const crosses = findCrossing(outline) !== null;
  const head = useRef<HTMLDivElement>(null);
  // The button that led here is gone: the keyboard goes on from the top, and a screen reader says what was found.
  useEffect(() => head.current?.focus(), []);
  const rimMm = rim?.maskedRimMm ?? null;
  return (
    <>
      <div ref={head} tabIndex={-1} className="sp-found">
        <p className="sp-size">{size}</p>
        <p className="plain">{(areaMm2(outline) / 100).toFixed(0)} cm² inside the outline</p>
      </div>
      <div>
        <div className="button-row">
          <Button className="wide" isDisabled={busy} onPress={() => turnFound(draft, -1)}>
            Turn left
          </Button>
          <Button className="wide" isDisabled={busy} onPress={() => turnFound(draft, 1)}>
            Turn right
          </Button>
        </div>
        <p className="hint">By a quarter of a turn, until what shall be up is up.</p>
      </div>
      {crosses && (
        <p className="warning" role="alert">
          The outline crosses itself where the ring is drawn. Move the handles there apart, or take back the last step.
        </p>
      )}
      {[...draft.notes, ...(rim?.notes ?? [])].map((note) => (
        <p key={note} className="hint">
          {note}
        </p>
      ))}
      {rimMm !== null && (
        <SwitchControl
          label={`Tape off the rim, ${length(rimMm)}`}
          hint="The dashed masking line runs a little onto the dark rim; outside it the wood stays bare."
          value={draft.tapeRim}
          onChange={(tapeRim) => editDraft({ tapeRim })}
        />
      )}
      {defects.length > 0 && (
        <fieldset className="sp-defects">
          <legend>Seen on the face</legend>
          {defects.map(({ defect, on }, i) => (
            <SwitchControl
              // biome-ignore lint/suspicious/noArrayIndexKey: the list never changes its order
              key={i}
              label={`${defect.kind === 'knot' ? 'Knot' : 'Drying check'}, ${length(sizeOf(defect))}`}
              hint={placeOf(defect, draft, length)}
              value={on}
              onChange={(next) =>
                editDraft({ defects: defects.map((one, k) => (k === i ? { ...one, on: next } : one)) })
              }
            />
          ))}
        </fieldset>
      )}
      <p className="hint">
        Drag the sixteen handles where the outline is off; their neighbours follow. Arrow keys move one by 0.5 mm, with
        Shift by 5 mm.
      </p>
      {/* One button for both, so that the keyboard stays where it is. */}
      <Button
        className="wide sheet-main"
        isDisabled={crosses}
        onPress={() => (busy ? cancelSlabWork() : inBackground(takeOver(draft, size)))}
      >
        {busy ? 'Stop' : 'Take over'}
      </Button>
      <Button className="wide" isDisabled={busy} onPress={() => editWork({ shows: 'marks' })}>
        {photo ? 'Back to the photograph' : 'Back'}
      </Button>
    </>
  );
}

const sizeOf = (defect: Defect): number => (defect.kind === 'knot' ? defect.diameterMm : defect.lengthMm);

/** From the middle of the outline's box. */
function placeOf(defect: Defect, { outline }: Draft, length: (mm: number) => string): string {
  const { left, top, right, bottom } = boundsMm(outline);
  const x = defect.xMm - (left + right) / 2;
  const y = defect.yMm - (top + bottom) / 2;
  return `${length(Math.abs(x))} ${x < 0 ? 'left of' : 'right of'} and ${length(Math.abs(y))} ${y < 0 ? 'above' : 'below'} the middle.`;
}
