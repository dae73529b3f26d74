import { Button } from 'react-aria-components';
import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import { peakFluence, spotRadii } from '../../physics/beam/gaussian.ts';
import { pulsedCrossing } from '../../physics/material/layers.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import type { Machine, Motion, Pass, Piece, Source } from '../../piece/schema.ts';
import { CurveControl } from '../fields/CurveControl.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { LengthControl, NameControl, PairSwitch, SwitchControl, ValueControl } from '../fields/ValueControl.tsx';
import { changeHeat, changePass, setTypicalAbsorptances, usePieceStore } from '../store/piece-store.ts';
import { CalibrateButton } from '../studies/calibrate/CalibrateButton.tsx';
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

/** Whether rows warm the ones that follow. */
function HeatControls() {
  const heat = usePieceStore((state) => state.piece.heat);
  return (
    <>
      <SwitchControl
        label="Rows warm the next"
        hint="Where the head is soon back the wood is still warm: narrow parts and short rows burn deeper."
        value={heat.carryOver}
        onChange={(carryOver) => changeHeat({ carryOver })}
      />
      {heat.carryOver && (
        <ValueControl
          label="Heat that stays"
          hint="Of what is taken up; smoke and chips carry off the rest."
          unit="%"
          value={100 * heat.retainedShare}
          onChange={(percent) => changeHeat({ retainedShare: percent / 100 })}
          low={0}
          high={100}
          step={1}
          digits={0}
        />
      )}
    </>
  );
}

const HIGHEST_THRESHOLD = 10;

/**
 * The piece with pulsed light (null: continuous), its thresholds brought over from a crossing to one pulse or back, so that at the first
 * pass's feed the layers begin to come off at the dose at which they did.
 */
export function withPulses(piece: Piece, pulses: Source['pulses']): Piece {
  const { machine, slab, stack } = piece;
  const source = { ...machine.source, pulses };
  const factor = crossingOverPulse(piece, machine.source) / crossingOverPulse(piece, source);
  const bring = <Layer extends { thresholdJPerMm2: number }>(layer: Layer): Layer => ({
    ...layer,
    thresholdJPerMm2: Math.min(HIGHEST_THRESHOLD, Number((layer.thresholdJPerMm2 * factor).toPrecision(6))),
  });
  return {
    ...piece,
    machine: { ...machine, source },
    slab: { ...slab, wood: bring(slab.wood) },
    stack: { ...stack, coats: stack.coats.map(bring) },
  };
}

/** A crossing's threshold over that which a layer has written down. */
function crossingOverPulse({ passes, machine }: Piece, source: Source): number {
  const [pass] = passes;
  const crossing = pulsedCrossing(source, spotRadii(source, pass).alongMm, feedOf(pass, machine.motion));
  return crossing?.thresholdFactor ?? 1;
}

/** How the head moves. */
function MotionControls({ motion, onChange }: { motion: Motion; onChange: (part: Partial<Motion>) => void }) {
  return (
    <>
      <ValueControl
        label="Acceleration"
        hint="Decides the time that each turn costs."
        unit="mm/s²"
        value={motion.accelerationMmPerS2}
        onChange={(accelerationMmPerS2) => onChange({ accelerationMmPerS2 })}
        low={1}
        high={1000000}
        sliderHigh={10000}
        step={50}
        digits={0}
      />
      <LengthControl
        label="Run-up"
        hint="Travel outside the picture to get up to speed; too short burns the row ends deeper."
        valueMm={motion.runUpMm}
        onChange={(runUpMm) => onChange({ runUpMm })}
        lowMm={0}
        highMm={500}
        sliderHighMm={30}
        stepMm={0.5}
      />
      <PairSwitch
        label="Power at the row ends"
        value={motion.powerAtRamps}
        options={[
          { id: 'held', label: 'Held' },
          { id: 'follows-feed', label: 'Follows feed' },
        ]}
        onChange={(powerAtRamps) => onChange({ powerAtRamps })}
        hint="While the head gets up to speed inside the picture."
      />
      <ValueControl
        label="Fastest feed"
        hint="The machine goes no faster, whatever a pass asks for."
        unit="mm/min"
        value={mmPerSToMmPerMin(motion.maxFeedMmPerS)}
        onChange={(value) => onChange({ maxFeedMmPerS: mmPerMinToMmPerS(value) })}
        low={6}
        high={600000}
        sliderHigh={40000}
        step={100}
        digits={0}
      />
    </>
  );
}

/** The machine's source and motion. */
function MachineControls() {
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

/** To start from: estimates, calibrate. Incubation as of polymers (value from memory). */
const PULSES_AT_FIRST = { rateHz: 30000, incubation: 0.85, depthPerPulseUm: 1 };

/** Whether the light is continuous, and its pulses if it is not. */
function PulseControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
  const change = usePieceStore((state) => state.change);
  const { pulses } = source;
  const edit = (part: Partial<typeof PULSES_AT_FIRST>) =>
    onChange({ pulses: { ...PULSES_AT_FIRST, ...pulses, ...part } });
  return (
    <>
      <PairSwitch
        label="Light"
        value={pulses ? 'pulsed' : 'continuous'}
        options={[
          { id: 'continuous', label: 'Continuous' },
          { id: 'pulsed', label: 'Pulsed' },
        ]}
        onChange={(id) => change((piece) => withPulses(piece, id === 'pulsed' ? PULSES_AT_FIRST : null))}
        hint="Short pulses take a little off each; continuous light heats as it passes."
      />
      {pulses && (
        <>
          <p className="plain">
            The threshold doses of coats and wood now hold for one pulse; those that were there have been brought over
            for the first pass’s feed. {pulseWords(source)}
          </p>
          <ValueControl
            label="Pulse rate"
            hint="More pulses a second share out the same power: each takes less off, or nothing."
            unit="kHz"
            value={pulses.rateHz / 1000}
            onChange={(kHz) => edit({ rateHz: 1000 * kHz })}
            low={0.001}
            high={1e6}
            sliderLow={1}
            sliderHigh={200}
            step={1}
            digits={3}
          />
          <ValueControl
            label="Incubation exponent"
            hint="At 1 every pulse meets the same threshold; below it, pulses on one place lower it."
            unit=""
            value={pulses.incubation}
            onChange={(incubation) => edit({ incubation })}
            low={0.5}
            high={1}
            step={0.01}
          />
          <ValueControl
            label="Depth per e-fold"
            hint="How much more a pulse takes off when it is 2.7 times as strong."
            unit="µm"
            value={pulses.depthPerPulseUm}
            onChange={(depthPerPulseUm) => edit({ depthPerPulseUm })}
            low={0.001}
            high={1000}
            sliderLow={0.05}
            sliderHigh={20}
            step={0.05}
            digits={3}
          />
        </>
      )}
    </>
  );
}

/** What one pulse carries at full power. */
function pulseWords({ pulses, fullPowerW, spotAcrossMm, spotAlongMm }: Source): string {
  if (!pulses) return '';
  const pulseJ = fullPowerW / pulses.rateHz;
  const fluence = peakFluence(pulseJ, Math.sqrt(spotAcrossMm * spotAlongMm));
  return `At full power a pulse carries ${(1000 * pulseJ).toPrecision(2)} mJ, ${fluence.toPrecision(2)} J/mm² at the middle of the spot.`;
}

const RADII = [
  {
    key: 'spotAcrossMm',
    label: 'Spot across the rows',
    hint: 'Radius where the intensity is down to 1/e²; too small for the pitch leaves strips.',
  },
  {
    key: 'spotAlongMm',
    label: 'Spot along the rows',
    hint: 'Radius where the intensity is down to 1/e²; smears dots along the row.',
  },
] as const;

const LAGS = [
  { key: 'riseTimeS', label: 'Rise time', hint: 'A slow source rounds off small dots.' },
  { key: 'fallTimeS', label: 'Fall time', hint: 'A slow fall leaves tails behind dots.' },
] as const;

/** The spot on the work, and how its power follows what is set. */
function SpotControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
  return (
    <>
      {RADII.map(({ key, label, hint }) => (
        <LengthControl
          key={key}
          label={label}
          hint={hint}
          valueMm={source[key]}
          onChange={(radiusMm) => onChange({ [key]: radiusMm })}
          lowMm={0.001}
          highMm={5}
          sliderLowMm={0.02}
          sliderHighMm={0.4}
          stepMm={0.005}
          digits={3}
        />
      ))}
      <ValueControl
        label="Beam quality M²"
        hint="1 is perfect; a large one leaves focus quickly."
        unit=""
        value={source.beamQuality}
        onChange={(beamQuality) => onChange({ beamQuality })}
        low={1}
        high={1000}
        sliderHigh={60}
        step={0.5}
      />
      <ValueControl
        label="Firing floor"
        hint="Set power below which no light comes out at all."
        unit="%"
        value={100 * source.firingFloor}
        onChange={(percent) => onChange({ firingFloor: percent / 100 })}
        low={0}
        high={90}
        sliderHigh={30}
        step={0.5}
        digits={1}
      />
      <CurveControl
        label="Power curve"
        hint="Set power from left to right, light that comes out upwards."
        points={source.powerCurve}
        onChange={(powerCurve) => onChange({ powerCurve })}
      />
      {LAGS.map(({ key, label, hint }) => (
        <ValueControl
          key={key}
          label={label}
          hint={hint}
          unit="µs"
          value={source[key] * 1e6}
          onChange={(us) => onChange({ [key]: us / 1e6 })}
          low={0}
          high={100000}
          sliderHigh={2000}
          step={10}
          digits={0}
        />
      ))}
    </>
  );
}
