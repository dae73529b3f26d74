import { Button } from 'react-aria-components';
import { SCREENS } from '../../core/image/screens/screen-list.ts';
import type { Machine, Motion, Pass, Source } from '../../core/piece/schema.ts';
import {
  degToRad,
  inchToMm,
  mmPerMinToMmPerS,
  mmPerSToMmPerMin,
  mmToInch,
  pitchMmToRowsPerInch,
  radToDeg,
} from '../../core/units.ts';
import { ChoiceControl } from '../controls/ChoiceControl.tsx';
import { CurveControl } from '../controls/CurveControl.tsx';
import { LengthControl } from '../controls/LengthControl.tsx';
import { More } from '../controls/More.tsx';
import { NameControl } from '../controls/NameControl.tsx';
import { PairSwitch } from '../controls/PairSwitch.tsx';
import { ValueControl } from '../controls/ValueControl.tsx';
import { changePass } from '../piece-edits.ts';
import { usePieceStore } from '../stores/piece-store.ts';
import { useSessionStore } from '../stores/session-store.ts';
import { ToneControls } from './PictureStep.tsx';

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
      <More label="The machine">
        <MachineControls />
      </More>
    </>
  );
}

/** A further pass starts weak and leaves the darks alone. */
const secondPass = (before: Pass): Pass => ({
  ...before,
  lightEndPower: Math.min(before.lightEndPower, 0.3),
  darkEndPower: 0,
});

function FeedControl({ feedMmPerS, onChange }: { feedMmPerS: number; onChange: (feedMmPerS: number) => void }) {
  const inches = useSessionStore((state) => state.units === 'inch');
  const show = (mmPerS: number) => (inches ? mmToInch(mmPerSToMmPerMin(mmPerS)) : mmPerSToMmPerMin(mmPerS));
  const read = (value: number) => mmPerMinToMmPerS(inches ? inchToMm(value) : value);
  return (
    <ValueControl
      label="Feed rate"
      hint="Slower burns deeper and takes longer."
      unit={inches ? 'in/min' : 'mm/min'}
      value={show(feedMmPerS)}
      onChange={(value) => onChange(read(value))}
      low={show(0.1)}
      high={show(10000)}
      sliderLow={show(mmPerMinToMmPerS(1000))}
      sliderHigh={show(mmPerMinToMmPerS(18000))}
      step={inches ? 5 : 100}
      digits={0}
    />
  );
}

function PassControls({ pass, onChange }: { pass: Pass; onChange: (part: Partial<Pass>) => void }) {
  const screen = SCREENS.find(({ method }) => method === pass.screen);
  return (
    <>
      <ValueControl
        label="Light-end power"
        hint="At the picture’s lightest tone: has to get through the coat even where it is thick."
        unit="%"
        value={100 * pass.lightEndPower}
        onChange={(percent) => onChange({ lightEndPower: percent / 100 })}
        low={0}
        high={100}
        step={0.5}
        digits={1}
      />
      <ValueControl
        label="Dark-end power"
        hint="At the darkest tone: below the threshold it leaves the coat untouched."
        unit="%"
        value={100 * pass.darkEndPower}
        onChange={(percent) => onChange({ darkEndPower: percent / 100 })}
        low={0}
        high={100}
        step={0.5}
        digits={1}
      />
      <FeedControl feedMmPerS={pass.feedMmPerS} onChange={(feedMmPerS) => onChange({ feedMmPerS })} />
      <LengthControl
        label="Row pitch"
        hint={`${Math.round(pitchMmToRowsPerInch(pass.rowPitchMm))} rows per inch; dark strips stay between rows that are too far apart.`}
        valueMm={pass.rowPitchMm}
        onChange={(rowPitchMm) => onChange({ rowPitchMm })}
        lowMm={0.01}
        highMm={5}
        sliderLowMm={0.05}
        sliderHighMm={0.4}
        stepMm={0.001}
        digits={4}
      />
      <ChoiceControl
        label="Screen"
        value={pass.screen}
        choices={SCREENS.map(({ method, title, note }) => ({ id: method, label: title, note }))}
        onChange={(method) => onChange({ screen: method })}
      />
      <More label="More about this pass">
        {screen?.serpentine && (
          <PairSwitch
            label="Screened"
            value={pass.serpentine ? 'serpentine' : 'raster'}
            options={[
              { id: 'serpentine', label: 'Serpentine' },
              { id: 'raster', label: 'Raster' },
            ]}
            onChange={(id) => onChange({ serpentine: id === 'serpentine' })}
            hint="Serpentine turns round at each row: fewer worms of dots."
          />
        )}
        <ValueControl
          label="Row heading"
          hint="0 runs left to right; turns counter-clockwise."
          unit="°"
          value={radToDeg(pass.headingRad)}
          onChange={(deg) => onChange({ headingRad: degToRad(Math.min(360, Math.max(0, deg))) })}
          low={0}
          high={360}
          step={1}
          digits={1}
        />
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
        <LengthControl
          label="Row offset error"
          hint="How far backward rows land from where they should: it frays edges."
          valueMm={pass.rowOffsetErrorMm}
          onChange={(rowOffsetErrorMm) => onChange({ rowOffsetErrorMm })}
          lowMm={-5}
          highMm={5}
          sliderLowMm={-0.5}
          sliderHighMm={0.5}
          stepMm={0.01}
          digits={2}
        />
        <LengthControl
          label="Focus offset"
          hint="Out of focus the spot is larger and weaker."
          valueMm={pass.focusOffsetMm}
          onChange={(focusOffsetMm) => onChange({ focusOffsetMm })}
          lowMm={-100}
          highMm={100}
          sliderLowMm={-8}
          sliderHighMm={8}
          stepMm={0.1}
        />
        <OwnTone pass={pass} onChange={onChange} />
      </More>
    </>
  );
}

function OwnTone({ pass, onChange }: { pass: Pass; onChange: (part: Partial<Pass>) => void }) {
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
      {pass.tone && <ToneControls tone={pass.tone} onChange={(tone) => onChange({ tone })} />}
    </>
  );
}

function MachineControls() {
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
        hint="For the spot out of focus; absorptances belong to the coats."
        unit="nm"
        value={beam.wavelengthNm}
        onChange={(wavelengthNm) => source({ wavelengthNm })}
        low={150}
        high={12000}
        step={1}
        digits={0}
      />
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
