import { Button } from 'react-aria-components';
import type { Pass } from '../../piece/schema.ts';
import { More } from '../fields/More.tsx';
import { changePass } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { CalibrateButton } from '../studies/calibrate/CalibrateButton.tsx';
import { HeatControls } from './HeatControls.tsx';
import { MachineControls } from './MachineControls.tsx';
import { PassControls } from './PassControls.tsx';

const ORDINALS = [
  'First',
  'Second',
  'Third',
  'Fourth',
  'Fifth',
  'Sixth',
  'Seventh',
  'Eighth',
  'Ninth',
  'Tenth',
  '11th',
  '12th',
];

export function PassesStep() {
  const passes = usePieceStore((state) => state.piece.passes);
  const carryOver = usePieceStore((state) => state.piece.heat.carryOver);
  const change = usePieceStore((state) => state.change);
  return (
    <>
      {passes.map((pass, index) => (
        <section
          // biome-ignore lint/suspicious/noArrayIndexKey: passes have no identity but their place
          key={index}
          className="coat"
          aria-label={`${ORDINALS[index]} pass`}
        >
          <header>
            <h3>{ORDINALS[index]} pass</h3>
            {passes.length > 1 && (
              <Button
                className="quiet"
                onPress={() => change((piece) => ({ ...piece, passes: piece.passes.filter((_, i) => i !== index) }))}
              >
                Remove
              </Button>
            )}
          </header>
          <PassControls pass={pass} onChange={(part) => changePass(index, part)} />
        </section>
      ))}
      <Button
        className="wide"
        isDisabled={passes.length >= ORDINALS.length}
        onPress={() => change((piece) => ({ ...piece, passes: [...piece.passes, secondPass(piece.passes.at(-1)!)] }))}
      >
        Add a pass over it
      </Button>
      <CalibrateButton />
      <div className="folds">
        <More label="Heat between rows" note={carryOver ? 'counted' : 'left out'}>
          <HeatControls />
        </More>
        <More label="The machine">
          <MachineControls />
        </More>
      </div>
    </>
  );
}

/** A further pass starts weak and leaves the darks alone. */
const secondPass = (before: Pass): Pass => ({
  ...before,
  lightEndPower: Math.min(before.lightEndPower, 0.3),
  darkEndPower: 0,
});
