import { useState } from 'react';
import { Input, Label, Text, TextField } from 'react-aria-components';
import { ratioToPercent } from '../../base/units.ts';
import { extraWordsFault } from '../../outputs/program/frame.ts';
import type { PictureForm } from '../../outputs/program/machine-file.ts';
import { controlRefusals, passRefusals } from '../../outputs/program/refusals.ts';
import { placementWarnings } from '../../physics/bed/bed.ts';
import type { Control } from '../../piece/schema.ts';
import { BriefCautions } from '../fields/BriefCautions.tsx';
import { Field } from '../fields/Field.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { ChoiceControl, PairSwitch, SwitchControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';
import { FileButton } from './PaperButtons.tsx';
import { Refusals } from './Refusals.tsx';
import { TakeUpBurn } from './TakeUpBurn.tsx';
import { useMachineFiles } from './use-machine-files.ts';

/** What the machine gets: walks, programs, pictures, a drawing. */
export function MachineJob() {
  const piece = usePieceStore((state) => state.piece);
  const photo = usePieceStore((state) => state.photo);
  const files = useMachineFiles();
  const [form, setForm] = useState<PictureForm>('dots-8');
  const [negative, setNegative] = useState(false);
  const { placement, passes } = piece;
  const setup = controlRefusals(piece);
  const noFile = !photo || setup.length > 0;
  const ofPass = (index: number) => (passes.length > 1 ? ` of pass ${index + 1}` : '');
  return (
    <>
      <BriefCautions />
      {setup.length > 0 && <Refusals refusals={setup} />}
      {photo &&
        setup.length === 0 &&
        placementWarnings(piece, photo).map((warning) => (
          <p className="warning" key={warning}>
            {warning}
          </p>
        ))}
      <p className="plain">Run the lap first, then burn.</p>
      <FileButton
        label="Save the lap round the slab"
        hint={
          placement.pilotPower > 0
            ? `One slow lap with the beam on at ${ratioToPercent(placement.pilotPower).toFixed(1)} %.`
            : 'One slow lap with the beam off: clamps must not be in its way.'
        }
        file={{ kind: 'walk', path: 'slab' }}
        files={files}
        isDisabled={noFile}
      />
      <FileButton
        label="Save the lap round the picture"
        hint="Shows where the picture’s edge will lie."
        file={{ kind: 'walk', path: 'picture' }}
        files={files}
        isDisabled={noFile}
      />
      <Field
        of="placement.pilotPower"
        hint="Light of the laps; 0 leaves the beam off. Low enough not to mark the paint."
      />
      {placement.referenceMark && (
        <>
          <FileButton
            label="Save the reference mark"
            hint="A cross of 4 mm in the margin; burn it with the first pass."
            file={{ kind: 'mark' }}
            files={files}
            isDisabled={noFile}
          />
          <FileButton
            label="Save the lap over the mark"
            hint="Before a second pass: it must follow the burned cross."
            file={{ kind: 'walk', path: 'mark' }}
            files={files}
            isDisabled={noFile}
          />
        </>
      )}
      {passes.map((_, index) => {
        const refusals = passRefusals(piece, index);
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: passes have no other name
          <div key={index}>
            <FileButton
              label={`Save the program${ofPass(index)}`}
              hint={
                index === 0
                  ? 'G-code, read back before it is called done. The head ends where the settings below say.'
                  : undefined
              }
              file={{ kind: 'pass', index }}
              files={files}
              isDisabled={noFile || refusals.length > 0}
            />
            {refusals.length > 0 && <Refusals refusals={refusals} />}
          </div>
        );
      })}
      <div className="folds">
        <More label="Controller">
          <ControllerControls />
        </More>
        <More label="Take up a burn that broke off" note="from a row">
          <TakeUpBurn files={files} isDisabled={noFile} />
        </More>
        <More label="Picture and drawing" note="PNG, SVG">
          <ChoiceControl
            label="Pixels"
            value={form}
            onChange={setForm}
            choices={[
              {
                id: 'dots-8',
                label: 'Dots, 8 bits',
                note: 'White at the light-end power; transparent where nothing burns.',
              },
              {
                id: 'dots-1',
                label: 'Dots, 1 bit',
                note: 'Black and white only; what does not burn counts as the dark end.',
              },
              {
                id: 'grey-16',
                label: 'Grey, 16 bits',
                note: 'Before it is screened, for programs that make their own dots.',
              },
            ]}
          />
          <SwitchControl
            label="Negative"
            hint="Black where the beam is strongest, for programs that burn what is black."
            value={negative}
            onChange={setNegative}
          />
          {passes.map((_, index) => (
            <FileButton
              // biome-ignore lint/suspicious/noArrayIndexKey: passes have no other name
              key={index}
              label={`Save the picture${ofPass(index)}`}
              hint={
                index === 0 ? 'At the row pitch, turned as the rows run, with its true size in the file.' : undefined
              }
              file={{ kind: 'picture', index, form, negative }}
              files={files}
              isDisabled={!photo}
            />
          ))}
          <FileButton
            label="Save the drawing"
            hint="The slab’s outline and the picture’s edge in millimetres, as SVG."
            file={{ kind: 'drawing' }}
            files={files}
            isDisabled={!photo}
          />
        </More>
      </div>
    </>
  );
}

/** Decimal places that go with a unit: about a micrometre. */
const USUAL_DECIMALS = { mm: 3, inch: 4 } as const;

/** How the machine's controller wants its programs. None of it changes the burn, but for the row offset. */
function ControllerControls() {
  const control = usePieceStore((state) => state.piece.machine.control);
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<Control>) =>
    change((piece) => ({
      ...piece,
      machine: { ...piece.machine, control: { ...piece.machine.control, ...part } },
    }));
  return (
    <>
      <Field of="machine.control.powerScale" hint="What S says at full power: see the controller’s manual." />
      <Field
        of="machine.control.powerLimit"
        hint="No power goes above it; protects a weak source, and the slab from a slip."
      />
      <ChoiceControl
        label="Laser-on code"
        value={control.beam}
        onChange={(beam) => edit({ beam })}
        choices={[
          {
            id: 'follows-speed',
            label: 'Power follows speed (M4)',
            note: 'The beam weakens as the head slows, if your controller reads the code so: see its manual.',
          },
          {
            id: 'holds-power',
            label: 'Power held (M3)',
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
            label: 'goes to the picture’s middle',
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
            label: 'the picture’s middle',
            note: 'Bring the head over the slab where the picture’s middle is to be, then start.',
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
      <Field of="machine.control.decimals" hint="Fewer make smaller files, and dots less exact in place." />
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
