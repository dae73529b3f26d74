import type { Source } from '../../piece/schema.ts';
import { CurveControl } from '../fields/CurveControl.tsx';
import { LengthControl } from '../fields/LengthControl.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';

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
export function SpotControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
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
