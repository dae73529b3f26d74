import { Button } from 'react-aria-components';
import { inBackground } from '../../faults/tell-fault.ts';
import { ChoiceControl } from '../../fields/ChoiceControl.tsx';
import { LengthControl } from '../../fields/LengthControl.tsx';
import { More } from '../../fields/More.tsx';
import { ValueControl } from '../../fields/ValueControl.tsx';
import { Magnifier } from './Magnifier.tsx';
import { cancelSlabWork, findOutline } from './slab-photo-actions.ts';
import { editMarks, editWork, type SlabPhoto, setSlabPhoto, useSlabPhoto } from './slab-photo-store.ts';

const KINDS = [
  { id: 'card', label: 'A bank card', note: 'Any card of 85.6 × 53.98 mm (ISO/IEC 7810 ID-1). Mark its four corners.' },
  {
    id: 'rectangle',
    label: 'A rectangle of known size',
    note: 'A sheet, a frame, four measured points. Mark its corners.',
  },
  { id: 'ruler', label: 'A ruler', note: 'Two marks on it. Only for photographs taken from straight above.' },
] as const;

const SIZES = [
  { key: 'widthMm', label: 'Its width', hint: 'From its top left to its top right corner.' },
  { key: 'heightMm', label: 'Its height', hint: 'From its top right to its bottom right corner.' },
] as const;

/** What gives the photo its scale. */
export function MarkPanel({ photo }: { photo: SlabPhoto }) {
  const marks = useSlabPhoto((state) => state.work.marks);
  const found = useSlabPhoto((state) => state.work.draft !== null);
  const busy = useSlabPhoto((state) => state.busy !== null);
  const length = (key: 'widthMm' | 'heightMm' | 'lengthMm', label: string, hint: string) => (
    <LengthControl
      key={key}
      label={label}
      hint={hint}
      valueMm={marks[key]}
      onChange={(mm) => editMarks({ [key]: mm }, key)}
      lowMm={0}
      highMm={3000}
      sliderHighMm={600}
      stepMm={1}
    />
  );
  return (
    <>
      <ChoiceControl
        label="What gives the scale"
        value={marks.kind}
        choices={KINDS}
        onChange={(kind) => {
          editMarks({ kind });
          setSlabPhoto({ active: 0 });
        }}
      />
      {marks.kind === 'rectangle' && SIZES.map(({ key, label, hint }) => length(key, label, hint))}
      {marks.kind === 'ruler' && length('lengthMm', 'Between the marks', 'Read it off the ruler.')}
      <Magnifier photo={photo} />
      <p className="hint">
        Drag the marks, or press on the photo and the nearest one comes. Arrow keys move a mark by half a pixel of the
        photo, with Shift by ten. The scale must lie level with the slab’s face: on the table below it, the slab comes
        out too large.
      </p>
      {/* One button for both, so that the keyboard stays where it is. */}
      <Button className="wide sheet-main" onPress={() => (busy ? cancelSlabWork() : inBackground(findOutline()))}>
        {busy ? 'Stop' : 'Find the outline'}
      </Button>
      {found && (
        <Button className="wide" isDisabled={busy} onPress={() => editWork({ shows: 'outline' })}>
          Back to the outline
        </Button>
      )}
      <More label="Lens">
        <ValueControl
          label="Distortion k1"
          hint="Straightens what a lens bends outwards (below 0) or inwards (above 0); 0 leaves it."
          unit=""
          value={marks.k1}
          onChange={(k1) => editMarks({ k1 }, 'k1')}
          low={-0.5}
          high={0.5}
          sliderLow={-0.2}
          sliderHigh={0.2}
          step={0.01}
          digits={3}
        />
      </More>
    </>
  );
}
