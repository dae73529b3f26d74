import { Button } from 'react-aria-components';
import { peakFluence, spotRadii } from '../../physics/beam/gaussian.ts';
import { pulsedCrossing } from '../../physics/material/layers.ts';
import { feedOf } from '../../physics/raster/pass-time.ts';
import { fieldOf } from '../../piece/fields.ts';
import type { Machine, Motion, Pass, Piece, Source } from '../../piece/schema.ts';
import { CurveControl } from '../fields/CurveControl.tsx';
import { Field } from '../fields/Field.tsx';
import { OfPart } from '../fields/of-part.tsx';
import { More } from '../fields/SheetDialog.tsx';
import { NameControl, PairSwitch, SwitchControl } from '../fields/ValueControl.tsx';
import { changeHeat, setTypicalAbsorptances, usePieceStore } from '../store/piece-store.ts';
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
      {passes.map((_, index) => (
        <section
          // biome-ignore lint/suspicious/noArrayIndexKey: passes have no identity but their place
          key={index}
          className="setting-block"
          aria-label={`${ORDINALS[index]} pass`}
        >
          <OfPart value={passes.length > 1 ? `${ORDINALS[index].toLowerCase()} pass` : ''}>
            <header>
              <h3>{ORDINALS[index]} pass</h3>
              {passes.length > 1 && (
                <Button
                  className="quiet"
                  aria-label={`Remove ${ORDINALS[index].toLowerCase()} pass`}
                  onPress={() => change((piece) => ({ ...piece, passes: piece.passes.filter((_, i) => i !== index) }))}
                >
                  Remove
                </Button>
              )}
            </header>
            <PassControls index={index} />
          </OfPart>
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
        <Field of="heat.retainedShare" hint="Of what is taken up; smoke and debris carry off the rest." />
      )}
    </>
  );
}

const HIGHEST_THRESHOLD = fieldOf('slab.wood.thresholdJPerMm2').high;

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
      <Field of="machine.motion.accelerationMmPerS2" hint="Decides the time that each turn costs." />
      <Field
        of="machine.motion.runUpMm"
        hint="Travel outside the picture to get up to speed; too short burns the row ends deeper."
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
      <Field of="machine.motion.maxFeedMmPerS" hint="The machine goes no faster, whatever a pass asks for." />
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
      <Field of="machine.source.fullPowerW" hint="Light that comes out at 100 %." />
      <Field of="machine.source.wavelengthNm" hint="Diode 405–450, green 532, fibre 1064, CO₂ 10600." />
      <Button className="wide" onPress={setTypicalAbsorptances}>
        Set absorptances for this wavelength
      </Button>
      <p className="hint">
        Typical values for every coat and the wood. A light undercoat reflects blue and near-infrared beams and is
        spared; at 10600 nm it is burned like the rest.
      </p>
      <PulseControls source={beam} />
      <Field
        of="machine.airFlow"
        hint="How well a stream of air sweeps ash and smoke off; what stays takes up light and greys the picture."
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
function PulseControls({ source }: { source: Source }) {
  const change = usePieceStore((state) => state.change);
  const { pulses } = source;
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
          <Field
            of="machine.source.pulses.rateHz"
            hint="More pulses a second share out the same power: each takes less off, or nothing."
          />
          <Field
            of="machine.source.pulses.incubation"
            hint="At 1 every pulse meets the same threshold; below it, pulses on one place lower it."
          />
          <Field
            of="machine.source.pulses.depthPerPulseUm"
            hint="How much more a pulse takes off when it is 2.7 times as strong."
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

/** The spot on the work, and how its power follows what is set. */
function SpotControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
  return (
    <>
      <Field
        of="machine.source.spotAcrossMm"
        hint="Radius where the intensity is down to 1/e²; too small for the pitch leaves strips."
      />
      <Field
        of="machine.source.spotAlongMm"
        hint="Radius where the intensity is down to 1/e²; smears dots along the row."
      />
      <Field of="machine.source.beamQuality" hint="1 is perfect; a large one leaves focus quickly." />
      <Field of="machine.source.firingFloor" hint="Set power below which no light comes out at all." />
      <CurveControl
        label="Power curve"
        hint="Set power from left to right, light that comes out upwards."
        points={source.powerCurve}
        onChange={(powerCurve) => onChange({ powerCurve })}
      />
      <Field of="machine.source.riseTimeS" hint="A slow source rounds off small dots." />
      <Field of="machine.source.fallTimeS" hint="A slow fall leaves tails behind dots." />
    </>
  );
}
