import { Input, Label, Text, TextField } from 'react-aria-components';
import { extraWordsFault } from '../../outputs/program/extra-words.ts';
import { type Control, POWER_SCALE } from '../../piece/control-schema.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';

/** Decimal places that go with a unit: about a micrometre. */
const USUAL_DECIMALS = { mm: 3, inch: 4 } as const;

/** How the machine's controller wants its programs. None of it changes the burn, but for the row offset. */
export function ControllerControls() {
  const control = usePieceStore((state) => state.piece.machine.control);
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<Control>) =>
    change((piece) => ({
      ...piece,
      machine: { ...piece.machine, control: { ...piece.machine.control, ...part } },
    }));
  return (
    <>
      <ValueControl
        label="Power scale"
        hint="What S says at full power: see the controller’s manual."
        unit=""
        value={control.powerScale}
        onChange={(powerScale) => edit({ powerScale })}
        low={POWER_SCALE.least}
        high={POWER_SCALE.most}
        sliderHigh={1000}
        step={1}
      />
      <ValueControl
        label="Power limit"
        hint="No power goes above it; protects a weak source, and the slab from a slip."
        unit="%"
        value={100 * control.powerLimit}
        onChange={(percent) => edit({ powerLimit: percent / 100 })}
        low={0}
        high={100}
        step={1}
        digits={1}
      />
      <ChoiceControl
        label="Laser-on code"
        value={control.beam}
        onChange={(beam) => edit({ beam })}
        choices={[
          {
            id: 'follows-speed',
            label: 'M4: power follows speed',
            note: 'The beam weakens as the head slows, if your controller reads the code so: see its manual.',
          },
          {
            id: 'holds-power',
            label: 'M3: power held',
            note: 'The beam stays as strong as S says at any speed, if your controller reads the code so.',
          },
        ]}
      />
      <ChoiceControl
        label="At the end the head"
        value={control.park}
        onChange={(park) => edit({ park })}
        choices={[
          {
            id: 'picture-centre',
            label: 'goes to the picture’s centre',
            note: 'A second pass starts from there and lands on the first. It does not home.',
          },
          { id: 'bed-corner', label: 'goes to the bed’s near left corner', note: 'Out of the way of the slab.' },
          { id: 'stay', label: 'stays where it ends', note: 'Beyond the last row, with the beam off.' },
        ]}
      />
      <ChoiceControl
        label="Positions count from"
        value={control.zero}
        onChange={(zero) => edit({ zero })}
        choices={[
          {
            id: 'bed-corner',
            label: 'the bed’s near left corner',
            note: 'For machines that home: the picture burns where the slab lies on the bed.',
          },
          {
            id: 'picture-centre',
            label: 'the picture’s centre',
            note: 'Bring the head over the slab where the picture’s centre is to be, then start.',
          },
        ]}
      />
      <PairSwitch
        label="Units"
        value={control.units}
        options={[
          { id: 'mm', label: 'mm' },
          { id: 'inch', label: 'inch' },
        ]}
        onChange={(units) => edit({ units, decimals: USUAL_DECIMALS[units] })}
        hint="Of the program: G21 or G20."
      />
      <ValueControl
        label="Decimal places"
        hint="Fewer make smaller files, and dots less exact in place."
        unit=""
        value={control.decimals}
        onChange={(decimals) => edit({ decimals: Math.round(decimals) })}
        low={1}
        high={6}
        step={1}
        digits={0}
      />
      <SwitchControl
        label="Say S0 with the laser-on code"
        hint="Sets the power to nothing before the beam is allowed. Off for controllers that take S in lines of motion only."
        value={control.powerAtRest}
        onChange={(powerAtRest) => edit({ powerAtRest })}
      />
      <SwitchControl
        label="Make up for the row offset"
        hint="Shifts backward rows so that both directions meet, by the pass’s row offset error; the proof shows them in place then."
        value={control.correctRowOffset}
        onChange={(correctRowOffset) => edit({ correctRowOffset })}
      />
      <WordsField
        label="Lines at the start"
        value={control.startWords}
        onChange={(startWords) => edit({ startWords })}
        hint="Such as M8 for air and G4 P2 to wait two seconds; a semicolon between lines."
      />
      <WordsField
        label="Lines at the end"
        value={control.endWords}
        onChange={(endWords) => edit({ endWords })}
        hint="Such as M9. Nothing that moves the head or lets the beam out."
      />
    </>
  );
}

interface WordsFieldProps {
  readonly label: string;
  readonly hint: string;
  readonly value: string;
  readonly onChange: (words: string) => void;
}

function WordsField({ label, hint, value, onChange }: WordsFieldProps) {
  const fault = extraWordsFault(value);
  return (
    <div>
      <TextField className="text-field" value={value} onChange={onChange} maxLength={200} isInvalid={fault !== null}>
        <Label>{label}</Label>
        <Input spellCheck="false" autoComplete="off" />
        <Text slot="description" className="words-hint">
          {fault ? `${fault}.` : hint}
        </Text>
      </TextField>
    </div>
  );
}
