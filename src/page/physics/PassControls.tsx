import { pitchMmToRowsPerInch } from '../../base/units.ts';
import { screenOf } from '../../image/screens/screen-tone.ts';
import type { Pass } from '../../piece/schema.ts';
import { Field } from '../fields/Field.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { ToneControls } from '../fields/ToneControls.tsx';
import { PairSwitch, SwitchControl } from '../fields/ValueControl.tsx';
import { changePass, usePieceStore } from '../store/piece-store.ts';
import { ScreenChoice } from './ScreenChoice.tsx';

/** The settings of one pass. */
export function PassControls({ index }: { index: number }) {
  const pass = usePieceStore((state) => state.piece.passes[index]);
  const of = `passes.${index}` as const;
  const onChange = (part: Partial<Pass>) => changePass(index, part);
  const screen = screenOf(pass.screen);
  return (
    <>
      <Field
        of={`${of}.lightEndPower`}
        hint="At the picture’s lightest tone: has to get through the coat even where it is thick."
      />
      <Field of={`${of}.darkEndPower`} hint="At the darkest tone: below the threshold it leaves the coat untouched." />
      <Field of={`${of}.feedMmPerS`} hint="Slower burns deeper and takes longer." />
      <Field
        of={`${of}.rowPitchMm`}
        hint={`${Math.round(pitchMmToRowsPerInch(pass.rowPitchMm))} rows per inch; dark strips stay between rows that are too far apart.`}
      />
      <ScreenChoice index={index} />
      <More label="More about this pass">
        {screen?.serpentine && (
          <PairSwitch
            label="Dots placed"
            value={pass.serpentine ? 'turning' : 'one-direction'}
            options={[
              { id: 'turning', label: 'Turning' },
              { id: 'one-direction', label: 'One direction' },
            ]}
            onChange={(id) => onChange({ serpentine: id === 'turning' })}
            hint="Turning round at each row leaves fewer worms of dots."
          />
        )}
        <SwitchControl
          label="Power follows heat and lag"
          value={pass.evenPower}
          onChange={(isOn) => onChange({ evenPower: isOn })}
          hint="Less power where the rows before have warmed the work, a little more where a late source begins, less where the film was measured to be thin; never more than the light end. Row ends and narrow parts come out like the rest."
        />
        <Field of={`${of}.headingRad`} hint="0 runs left to right; turns counter-clockwise." />
        <PairSwitch
          label="Rows"
          value={pass.rows}
          options={[
            { id: 'two-way', label: 'Two-way' },
            { id: 'one-way', label: 'One-way' },
          ]}
          onChange={(rows) => onChange({ rows })}
          hint="Two-way is faster; one-way cannot be out of step."
        />
        <Field
          of={`${of}.rowOffsetErrorMm`}
          hint="How far backward rows land from where they should: it frays edges."
        />
        <Field of={`${of}.focusOffsetMm`} hint="Out of focus the spot is larger and weaker." />
        <OwnTone of={of} pass={pass} onChange={onChange} />
      </More>
    </>
  );
}

interface OwnToneProps {
  of: `passes.${number}`;
  pass: Pass;
  onChange: (part: Partial<Pass>) => void;
}

function OwnTone({ of, pass, onChange }: OwnToneProps) {
  const pictureTone = usePieceStore((state) => state.piece.picture.tone);
  return (
    <>
      <PairSwitch
        label="Tones"
        value={pass.tone ? 'own' : 'picture'}
        options={[
          { id: 'picture', label: 'The picture’s' },
          { id: 'own', label: 'Its own' },
        ]}
        onChange={(id) => onChange({ tone: id === 'own' ? pictureTone : null })}
        hint="A pass of its own tones can touch only the lights."
      />
      {pass.tone && <ToneControls of={`${of}.tone`} tone={pass.tone} onChange={(tone) => onChange({ tone })} />}
    </>
  );
}
