import { mmPerMinToMmPerS, mmPerSToMmPerMin } from '../../base/units.ts';
import type { Motion } from '../../piece/schema.ts';
import { LengthControl } from '../fields/LengthControl.tsx';
import { PairSwitch } from '../fields/PairSwitch.tsx';
import { ValueControl } from '../fields/ValueControl.tsx';

/** How the head moves. */
export function MotionControls({ motion, onChange }: { motion: Motion; onChange: (part: Partial<Motion>) => void }) {
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
