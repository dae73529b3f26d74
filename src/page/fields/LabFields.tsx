import { useState } from 'react';
import { labFromD50, labToD50 } from '../../base/color/adapt.ts';
import type { Lab } from '../../base/color/lab.ts';
import { PairSwitch } from './PairSwitch.tsx';
import { ValueControl } from './ValueControl.tsx';

const AXES = [
  { label: 'L*', hint: 'From black to white.', low: 0, high: 100 },
  { label: 'a*', hint: 'From green to red.', low: -128, high: 128 },
  { label: 'b*', hint: 'From blue to yellow.', low: -128, high: 128 },
] as const;

/** A colour as an instrument prints it. */
export function LabFields({ lab, onChange }: { lab: Lab; onChange: (lab: Lab) => void }) {
  const [light, setLight] = useState<'D65' | 'D50'>('D65');
  const shown = light === 'D65' ? lab : labToD50(lab);
  return (
    <>
      <PairSwitch
        label="Measured under"
        value={light}
        options={[
          { id: 'D65', label: 'D65' },
          { id: 'D50', label: 'D50' },
        ]}
        onChange={setLight}
        hint="As the instrument says; mirror reflection included."
      />
      {AXES.map(({ label, hint, low, high }, axis) => (
        <ValueControl
          key={label}
          label={label}
          hint={hint}
          unit=""
          value={shown[axis]}
          onChange={(value) => {
            const next = shown.map((old, i) => (i === axis ? value : old)) as unknown as Lab;
            const stored = light === 'D65' ? next : labFromD50(next);
            onChange([Math.min(100, Math.max(0, stored[0])), stored[1], stored[2]]);
          }}
          low={low}
          high={high}
          sliderLow={axis === 0 ? 0 : -60}
          sliderHigh={axis === 0 ? 100 : 60}
          step={0.5}
          digits={1}
        />
      ))}
    </>
  );
}
