import { Button } from 'react-aria-components';
import type { Machine, Source } from '../../piece/schema.ts';
import { More } from '../fields/More.tsx';
import { NameControl } from '../fields/NameControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { setTypicalAbsorptances } from '../store/piece-edits.ts';
import { usePieceStore } from '../store/piece-store.ts';
import { MotionControls } from './MotionControls.tsx';
import { PulseControls } from './PulseControls.tsx';
import { SpotControls } from './SpotControls.tsx';

/** The machine's source and motion. */
export function MachineControls() {
  const machine = usePieceStore((state) => state.piece.machine);
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<Machine>) => change((piece) => ({ ...piece, machine: { ...piece.machine, ...part } }));
  const source = (part: Partial<Source>) => edit({ source: { ...machine.source, ...part } });
  const { source: beam } = machine;
  return (
    <>
      <NameControl label="Name" value={machine.name} onChange={(name) => edit({ name })} />
      <ValueControl
        label="Full power"
        hint="Light that comes out at 100 %."
        unit="W"
        value={beam.fullPowerW}
        onChange={(fullPowerW) => source({ fullPowerW })}
        low={0.01}
        high={1000}
        sliderHigh={60}
        step={0.5}
      />
      <ValueControl
        label="Wavelength"
        hint="Blue 405–450, green 532, near infrared 1064, long infrared 10600."
        unit="nm"
        value={beam.wavelengthNm}
        onChange={(wavelengthNm) => source({ wavelengthNm })}
        low={150}
        high={12000}
        step={1}
        digits={0}
      />
      <Button className="wide" onPress={setTypicalAbsorptances}>
        Set absorptances for this wavelength
      </Button>
      <p className="hint">
        Typical values for every coat and the wood. A light undercoat reflects blue and near-infrared beams and is
        spared; at 10600 nm it is burned like the rest.
      </p>
      <PulseControls source={beam} onChange={source} />
      <ValueControl
        label="Air over the work"
        hint="How well a stream of air sweeps ash and smoke off; what stays takes up light and greys the picture."
        unit="%"
        value={100 * machine.airFlow}
        onChange={(percent) => edit({ airFlow: percent / 100 })}
        low={0}
        high={100}
        step={5}
        digits={0}
      />
      <div className="folds">
        <More label="Spot and how it follows">
          <SpotControls source={beam} onChange={source} />
        </More>
        <More label="Motion">
          <MotionControls
            motion={machine.motion}
            onChange={(part) => edit({ motion: { ...machine.motion, ...part } })}
          />
        </More>
      </div>
    </>
  );
}
