import { peakFluence } from '../../physics/beam/gaussian.ts';
import type { Source } from '../../piece/schema.ts';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';
import { usePieceStore } from '../store/piece-store.ts';
import { withPulses } from './with-pulses.ts';

/** To start from: estimates, calibrate. Incubation as of polymers (value from memory). */
const PULSES_AT_FIRST = { rateHz: 30000, incubation: 0.85, depthPerPulseUm: 1 };

/** Whether the light is continuous, and its pulses if it is not. */
export function PulseControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
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
