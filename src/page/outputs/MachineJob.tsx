import { useState } from 'react';
import { percentToRatio, ratioToPercent } from '../../base/units.ts';
import type { PictureForm } from '../../outputs/program/machine-file.ts';
import { controlRefusals, passRefusals } from '../../outputs/program/refusals.ts';
import { placementWarnings } from '../../physics/bed/perimeter.ts';
import { ChoiceControl } from '../fields/ChoiceControl.tsx';
import { More } from '../fields/More.tsx';
import { SwitchControl } from '../fields/SwitchControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';
import { ControllerControls } from './ControllerControls.tsx';
import { FileButton } from './FileButton.tsx';
import { Refusals } from './Refusals.tsx';
import { TakeUpBurn } from './TakeUpBurn.tsx';
import { useMachineFiles } from './use-machine-files.ts';

/** What the machine gets: walks, programs, pictures, a drawing. */
export function MachineJob() {
  const { piece, photo, change } = usePieceStore();
  const files = useMachineFiles();
  const [form, setForm] = useState<PictureForm>('dots-8');
  const [negative, setNegative] = useState(false);
  const { placement, passes } = piece;
  const setup = controlRefusals(piece);
  const noFile = !photo || setup.length > 0;
  const ofPass = (index: number) => (passes.length > 1 ? ` of pass ${index + 1}` : '');
  return (
    <>
      {setup.length > 0 && <Refusals refusals={setup} />}
      {photo &&
        setup.length === 0 &&
        placementWarnings(piece, photo).map((warning) => (
          <p className="warning" key={warning}>
            {warning}
          </p>
        ))}
      <p className="plain">
        Run the lap first, then burn. Keep the enclosure shut or wear eyewear for the wavelength, extract the fumes, and
        stay with it until it is done and cold.
      </p>
      <FileButton
        label="Save the lap round the slab"
        hint={
          placement.pilotPower > 0
            ? `One slow lap with the beam on at ${ratioToPercent(placement.pilotPower).toFixed(1)} %: eyewear on.`
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
      <ValueControl
        label="Pilot power"
        hint="Light of the laps; 0 leaves the beam off. Low enough not to mark the paint."
        unit="%"
        value={ratioToPercent(placement.pilotPower)}
        onChange={(percent) =>
          change((now) => ({ ...now, placement: { ...now.placement, pilotPower: percentToRatio(percent) } }))
        }
        low={0}
        high={10}
        step={0.1}
        digits={1}
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
        <More label="Controller" note={`S ${piece.machine.control.powerScale} · ${piece.machine.control.units}`}>
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
