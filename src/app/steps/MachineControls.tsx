import { Button } from 'react-aria-components';
import type { Machine, Motion, Source } from '../../core/piece/schema.ts';
import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../core/units.ts';
import { CurveControl } from '../controls/CurveControl.tsx';
import { LengthControl } from '../controls/LengthControl.tsx';
import { NameControl } from '../controls/NameControl.tsx';
import { PairSwitch } from '../controls/PairSwitch.tsx';
import { ValueControl } from '../controls/ValueControl.tsx';
import { setTypicalAbsorptances } from '../piece-edits.ts';
import { usePieceStore } from '../stores/piece-store.ts';

/** The machine's source and motion. */
export function MachineControls() {
  const machine = usePieceStore((state) => state.piece.machine);
  const change = usePieceStore((state) => state.change);
  const edit = (part: Partial<Machine>) => change((piece) => ({ ...piece, machine: { ...piece.machine, ...part } }));
  const source = (part: Partial<Source>) => edit({ source: { ...machine.source, ...part } });
  const motion = (part: Partial<Motion>) => edit({ motion: { ...machine.motion, ...part } });
  const { source: beam, motion: drive } = machine;
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
      <LengthControl
        label="Spot across the rows"
        hint="Radius where the intensity is down to 1/e²; too small for the pitch leaves strips."
        valueMm={beam.spotAcrossMm}
        onChange={(spotAcrossMm) => source({ spotAcrossMm })}
        lowMm={0.001}
        highMm={5}
        sliderLowMm={0.02}
        sliderHighMm={0.4}
        stepMm={0.005}
        digits={3}
      />
      <LengthControl
        label="Spot along the rows"
        hint="Radius where the intensity is down to 1/e²; smears dots along the row."
        valueMm={beam.spotAlongMm}
        onChange={(spotAlongMm) => source({ spotAlongMm })}
        lowMm={0.001}
        highMm={5}
        sliderLowMm={0.02}
        sliderHighMm={0.4}
        stepMm={0.005}
        digits={3}
      />
      <ValueControl
        label="Beam quality M²"
        hint="1 is perfect; a large one leaves focus quickly."
        unit=""
        value={beam.beamQuality}
        onChange={(beamQuality) => source({ beamQuality })}
        low={1}
        high={1000}
        sliderHigh={60}
        step={0.5}
      />
      <ValueControl
        label="Firing floor"
        hint="Set power below which no light comes out at all."
        unit="%"
        value={100 * beam.firingFloor}
        onChange={(percent) => source({ firingFloor: percent / 100 })}
        low={0}
        high={90}
        sliderHigh={30}
        step={0.5}
        digits={1}
      />
      <CurveControl
        label="Power curve"
        hint="Set power from left to right, light that comes out upwards."
        points={beam.powerCurve}
        onChange={(powerCurve) => source({ powerCurve })}
      />
      <ValueControl
        label="Rise time"
        hint="A slow source rounds off small dots."
        unit="µs"
        value={beam.riseTimeS * 1e6}
        onChange={(us) => source({ riseTimeS: us / 1e6 })}
        low={0}
        high={100000}
        sliderHigh={2000}
        step={10}
        digits={0}
      />
      <ValueControl
        label="Fall time"
        hint="A slow fall leaves tails behind dots."
        unit="µs"
        value={beam.fallTimeS * 1e6}
        onChange={(us) => source({ fallTimeS: us / 1e6 })}
        low={0}
        high={100000}
        sliderHigh={2000}
        step={10}
        digits={0}
      />
      <ValueControl
        label="Acceleration"
        hint="Decides the time that each turn costs."
        unit="mm/s²"
        value={drive.accelerationMmPerS2}
        onChange={(accelerationMmPerS2) => motion({ accelerationMmPerS2 })}
        low={1}
        high={1000000}
        sliderHigh={10000}
        step={50}
        digits={0}
      />
      <LengthControl
        label="Run-up"
        hint="Travel outside the picture to get up to speed; too short burns the row ends deeper."
        valueMm={drive.runUpMm}
        onChange={(runUpMm) => motion({ runUpMm })}
        lowMm={0}
        highMm={500}
        sliderHighMm={30}
        stepMm={0.5}
      />
      <PairSwitch
        label="Power at the row ends"
        value={drive.powerAtRamps}
        options={[
          { id: 'held', label: 'Held' },
          { id: 'follows-feed', label: 'Follows feed' },
        ]}
        onChange={(powerAtRamps) => motion({ powerAtRamps })}
        hint="While the head gets up to speed inside the picture."
      />
      <ValueControl
        label="Fastest feed"
        hint="The machine goes no faster, whatever a pass asks for."
        unit="mm/min"
        value={mmPerSToMmPerMin(drive.maxFeedMmPerS)}
        onChange={(value) => motion({ maxFeedMmPerS: mmPerMinToMmPerS(value) })}
        low={6}
        high={600000}
        sliderHigh={40000}
        step={100}
        digits={0}
      />
    </>
  );
}
