import type { Source } from '../../../core/piece/schema.ts';
import { CurveControl } from '../../controls/CurveControl.tsx';
import { LengthControl } from '../../controls/LengthControl.tsx';
import { ValueControl } from '../../controls/ValueControl.tsx';

/** The spot on the work, and how its power follows what is set. */
export function SpotControls({ source, onChange }: { source: Source; onChange: (part: Partial<Source>) => void }) {
  return (
    <>
      <LengthControl
        label="Spot across the rows"
        hint="Radius where the intensity is down to 1/e²; too small for the pitch leaves strips."
        valueMm={source.spotAcrossMm}
        onChange={(spotAcrossMm) => onChange({ spotAcrossMm })}
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
        valueMm={source.spotAlongMm}
        onChange={(spotAlongMm) => onChange({ spotAlongMm })}
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
      <ValueControl
        label="Rise time"
        hint="A slow source rounds off small dots."
        unit="µs"
        value={source.riseTimeS * 1e6}
        onChange={(us) => onChange({ riseTimeS: us / 1e6 })}
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
        value={source.fallTimeS * 1e6}
        onChange={(us) => onChange({ fallTimeS: us / 1e6 })}
        low={0}
        high={100000}
        sliderHigh={2000}
        step={10}
        digits={0}
      />
    </>
  );
}
